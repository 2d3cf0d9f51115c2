"""The verb "ingest": a folder of recordings and notes into the library, one document at a time.

Each document is committed by itself, so that a kill loses at most the one in hand and a rerun goes on from there. After the
last one the jobs are joined and the vector index is rebuilt; both can be told stale and are made again by the next run.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from kbindex.contracts import Documents, SentenceEncoder, Transcriber
from kbindex.errors import DocumentError, KbindexError, WeightsDamaged, WeightsMissing
from kbindex.intake import Fingerprint, Form, Item, content_hash, find_items, fingerprint, name_apart
from kbindex.reading.reader import READER_VERSION, ReadingTools, hide_recording, read_notes, read_recording
from kbindex.records import Failure, IngestSummary, Note, Progress, Recording, SourceKind, Told, Word
from kbindex.review import carry_over, rejoin
from kbindex.store.library import FileState, Library, NewDocument

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class IngestEngines:
    """What ingest works with; `build_index` writes the vector index file of a library and makes it the one in use."""

    transcriber: Transcriber
    encoder: SentenceEncoder
    documents: Documents
    tools: ReadingTools
    hotwords: Sequence[str]
    build_index: Callable[[Library], None]


@dataclass
class _Run:
    """The counts of one ingest as it goes."""

    started: float = field(default_factory=time.monotonic)
    added: int = 0
    updated: int = 0
    unchanged: int = 0
    removed: int = 0
    audio_s: float = 0.0
    failed: list[Failure] = field(default_factory=list)

    def summary(self) -> IngestSummary:
        wall_s = round(time.monotonic() - self.started, 2)
        return IngestSummary(
            self.added, self.updated, self.unchanged, self.removed, tuple(self.failed), round(self.audio_s, 2), wall_s
        )


@dataclass(frozen=True)
class _Task:
    """A document to take in, with what is known of it from an earlier ingest.

    `moved` is the document of a file that is no longer there and had the same content: its words need not be heard again.
    """

    item: Item
    mark: Fingerprint
    sha256: str
    known: FileState | None
    moved: FileState | None = None


def ingest(paths: Sequence[Path], library: Library, engines: IngestEngines) -> Iterator[Progress | IngestSummary]:
    """Bring the library up to date with files and folders; yields progress, and the summary last.

    Writes one document at a time. Files that cannot be read are reported in the summary and tried again by the next run;
    documents whose files have left the folders, or lie elsewhere now, are removed.

    Raises:
        SettingsError: A path does not exist or is no recording or note.
        WeightsMissing: No source has the weights of a model that is needed.
        WeightsDamaged: They are not the expected ones.
    """
    run = _Run()
    items = find_items(paths, engines.documents.is_media)
    known = library.files()
    tasks = list(_plan(items, known, library, engines, run))
    gone = _find_gone(paths, items, known, tasks)
    tasks = list(_settle(tasks, known, gone))
    for done, task in enumerate(tasks):
        yield Progress(task.item.path, done, len(tasks), _seconds_left(run, done, len(tasks)), "reading")
        try:
            document = _take_in(task, library, engines)
        except (WeightsMissing, WeightsDamaged):
            raise  # no file is to blame, and none could be read
        except KbindexError as error:
            run.failed.append(Failure(task.item.path, str(error)))
            yield Progress(task.item.path, done + 1, len(tasks), None, f"failed: {error}")
            continue
        with library.atomic():
            library.put_document(document)
            if task.moved and task.moved.path != task.item.path:
                carry_over(library, task.moved.path, task.item.path)
        run.audio_s += document.duration_s if task.item.form is not Form.NOTE else 0.0
        run.added += task.known is None
        run.updated += task.known is not None
    if gone:
        library.remove_documents([state.document_id for state in gone.values()])
        run.removed = len(gone)
    yield from _finish(library, engines, len(tasks))
    yield run.summary()


def find_headings(paths: Sequence[Path], documents: Documents) -> list[str]:
    """Find what the columns of the tables under files and folders are called, each name once.

    Raises:
        SettingsError: A path does not exist or is no recording or note.
    """
    found: dict[str, None] = {}
    for item in find_items(paths, documents.is_media):
        with suppress(DocumentError):  # ingest reports it
            found.update(dict.fromkeys(documents.headings(item.file)))
    return list(found)


def _plan(
    items: Sequence[Item], known: dict[Path, FileState], library: Library, engines: IngestEngines, run: _Run
) -> Iterator[_Task]:
    for item in items:
        state = known.get(item.file)
        if not _is_text(str(item.file)):
            shown = item.path.encode(errors="backslashreplace").decode()
            run.failed.append(Failure(shown, "its name, or a folder's, is not written in UTF-8; rename it"))
            continue
        try:
            mark = fingerprint(item)
            current = state is not None and state.made_with == _made_with(item, engines)
            if state and current and (state.size, state.mtime_ns) == (mark.size, mark.mtime_ns):
                run.unchanged += 1
                continue
            sha256 = content_hash(item)
        except OSError as error:
            run.failed.append(Failure(item.path, f"cannot be opened ({error.strerror}); check that you may read it"))
            continue
        if state and current and state.sha256 == sha256:
            library.touch_document(state.document_id, mark.mtime_ns)
            run.unchanged += 1
            continue
        yield _Task(item, mark, sha256, state)


def _is_text(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:  # bytes of a name that are no UTF-8 come as lone surrogates
        return False
    return True


def _find_gone(
    paths: Sequence[Path], items: Sequence[Item], known: dict[Path, FileState], tasks: Sequence[_Task]
) -> dict[Path, FileState]:
    """Documents whose files have left the folders asked for, or were moved from elsewhere into them."""
    folders = [path.expanduser().resolve() for path in paths if path.expanduser().is_dir()]
    here = {item.file for item in items}
    contents = {task.sha256 for task in tasks} | {known[file].sha256 for file in here & known.keys()}

    def is_gone(file: Path, state: FileState) -> bool:
        if file in here:
            return False
        if any(file.is_relative_to(folder) for folder in folders):
            return True
        return state.sha256 in contents and not file.exists()

    return {file: state for file, state in known.items() if is_gone(file, state)}


def _settle(tasks: Iterable[_Task], known: dict[Path, FileState], gone: dict[Path, FileState]) -> Iterator[_Task]:
    """Give each document its name in the library: the one that it has, else one that no other document has."""
    taken = {state.path for file, state in known.items() if file not in gone}
    moved = {state.sha256: state for state in gone.values()}
    for task in tasks:
        path = task.known.path if task.known else name_apart(task.item, taken)
        taken.add(path)
        yield replace(task, item=replace(task.item, path=path), moved=moved.get(task.sha256))


def _take_in(task: _Task, library: Library, engines: IngestEngines) -> NewDocument:
    """Read one document wholly, without writing anything."""
    words: tuple[Word, ...] = ()
    duration_s = 0.0
    if task.item.form is Form.NOTE:
        told = read_notes(_read_note_file(task.item, engines), engines.tools)
    else:
        recording = _listen(task, library, engines)
        words, duration_s = recording.words, recording.duration_s
        told = read_recording(recording, engines.tools)
    return NewDocument(
        path=task.item.path,
        file=task.item.file,
        kind=SourceKind.NOTE if task.item.form is Form.NOTE else SourceKind.RECORDING,
        sha256=task.sha256,
        size=task.mark.size,
        mtime_ns=task.mark.mtime_ns,
        duration_s=duration_s,
        made_with=_made_with(task.item, engines),
        words=words,
        told=told,
        vectors=_encode(told, engines),
    )


def _encode(told: Told, engines: IngestEngines) -> NDArray[np.float32]:
    return engines.encoder.encode([passage.text for passage in told.passages])


def _read_note_file(item: Item, engines: IngestEngines) -> list[Note]:
    return engines.documents.read_notes(item.file, item.path)


def _listen(task: _Task, library: Library, engines: IngestEngines) -> Recording:
    """Get a recording's words: from timed text, from an earlier transcription of the same file, or by transcribing."""
    item = task.item
    heard = next((state for state in (task.known, task.moved) if state and state.sha256 == task.sha256), None)
    timed_text = item.file if item.form is Form.TIMED_TEXT else item.timed_text
    if timed_text:
        recording = engines.documents.read_timed_text(timed_text, item.path)
    elif heard and _same_ears(heard, item, engines):
        words = library.words_of(heard.path)
        marks = next((job.households for job in library.told_of(heard.path).jobs), ())
        recording = Recording(item.path, words, engines.documents.duration_s(item.file), households=marks)
    else:
        recording = engines.transcriber.transcribe(item.file, item.path, engines.hotwords)
    made_on = None if item.form is Form.TIMED_TEXT else engines.documents.made_on(item.file)
    return hide_recording(replace(recording, made_on=made_on))


def _made_with(item: Item, engines: IngestEngines) -> str:
    """Name what makes the facts of a document: when this changes, the document is read again."""
    ears = engines.transcriber.name if item.form is Form.RECORDING and item.timed_text is None else item.form.value
    settings = engines.tools.settings
    order = "day first" if settings.day_first else "month first"
    is_table = item.form is Form.NOTE and item.file.suffix.lower() == ".csv"
    columns = f", columns {sorted(settings.columns.items())}" if is_table and settings.columns else ""
    lexicon = engines.tools.lexicon
    parts = f", parts {lexicon.shop_parts}" if lexicon.shop_parts else ""
    return f"{ears} | reader {READER_VERSION}, {order}, {settings.currency}{columns}{parts} | {engines.encoder.name}"


def _same_ears(known: FileState, item: Item, engines: IngestEngines) -> bool:
    return known.made_with.split(" | ")[0] == _made_with(item, engines).split(" | ")[0]


def _seconds_left(run: _Run, done: int, total: int) -> float | None:
    if not done:
        return None
    return (time.monotonic() - run.started) / done * (total - done)


def _finish(library: Library, engines: IngestEngines, total: int) -> Iterator[Progress]:
    """Join the jobs and rebuild the vector index, where the documents have changed since."""
    if not library.jobs_are_current():
        yield Progress("", total, total, None, "joining jobs")
        rejoin(library)
    manifest = library.manifest()
    current = manifest is not None and manifest.passages_version == library.passages_version()
    if not current or not library.has_index_file():
        yield Progress("", total, total, None, "building the index")
        engines.build_index(library)
