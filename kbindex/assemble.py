"""The only place that picks engines and store: settings in, working parts out. Heavy engines load when first used."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from kbindex.answer import AskEngines
from kbindex.engines.sentence_vectors import OnnxMiniLm
from kbindex.engines.vector_index import FaissIndex
from kbindex.errors import EngineError, SettingsError, StoreError
from kbindex.reading.lexicon import Lexicon, load_lexicon, machine_names
from kbindex.reading.shop_parts import read_shop_parts
from kbindex.settings import SETTINGS_FILE, Settings, known_meanings, load_settings, read_columns, with_columns
from kbindex.store.library import Library, Manifest

if TYPE_CHECKING:
    from kbindex.ingest import IngestEngines

COMMON_WORDS = (
    "beeps", "door latch", "control board", "solenoid", "reseat", "thermistor", "thermostat", "igniter", "inlet valve",
    "drain pump", "wash pump", "heating element", "thermal fuse", "capacitor", "start relay", "door gasket", "drive belt",
    "idler pulley", "evaporator fan", "defrost heater", "magnetron",
)  # fmt: skip
"""Trade words that a speech model is told to expect, after the shop's own."""

INDEX_FILE = "vectors-{version}.faiss"


def open_library(folder: Path, *, create: bool = False) -> Library:
    """Open the library of a folder; see `Library.open` for what can go wrong."""
    return Library.open(folder, create=create)


def ingest_engines(folder: Path, speech_model: str | None) -> IngestEngines:
    """Assemble what ingest works with; `speech_model` goes before the shop's setting."""
    # A question needs none of this, and all its patterns take a fifth of a second to load.
    from kbindex.engines.document_encoder import OnnxDocumentEncoder, load_heads
    from kbindex.engines.files import ShopFiles
    from kbindex.engines.whisper import FasterWhisper
    from kbindex.ingest import IngestEngines
    from kbindex.reading.reader import ReadingTools

    settings = load_settings(folder)
    lexicon = shop_lexicon(folder, settings)
    encoder = OnnxMiniLm(settings.sentence_model, allow_hub=settings.allow_hub)
    return IngestEngines(
        transcriber=FasterWhisper(speech_model or settings.speech_model, allow_hub=settings.allow_hub),
        encoder=encoder,
        documents=ShopFiles(tuple(settings.columns)),
        tools=ReadingTools(lexicon, load_heads(), OnnxDocumentEncoder(), settings),
        hotwords=(*settings.words, *COMMON_WORDS),
        build_index=lambda library: build_index(library, encoder.name),
    )


def shop_lexicon(folder: Path, settings: Settings) -> Lexicon:
    """Load the trade's words, with the shop's own list of parts over them where the settings of this library name one.

    Raises:
        SettingsError: The list cannot be read, or says what cannot be.
    """
    if not settings.parts:
        return load_lexicon()
    file = folder / os.path.expanduser(settings.parts)  # a home that is not there stays as it is written
    try:
        text = file.read_text(encoding="utf-8-sig")  # some editors put a mark before the first letter
    except (OSError, UnicodeDecodeError) as error:
        problem = error.strerror if isinstance(error, OSError) else "it is not written in UTF-8"
        raise SettingsError(
            f"cannot read the list of parts {file} ({problem}); correct 'parts' in {folder / SETTINGS_FILE}, or the file"
        ) from error
    return load_lexicon(read_shop_parts(text, str(file), machine_names()))


def check_settings(folder: Path) -> None:
    """See that the settings of a library can be used, and the shop's list of parts that they name, before anything is written.

    Raises:
        SettingsError: They cannot.
    """
    shop_lexicon(folder, load_settings(folder))


def check_columns(asked: Sequence[str], paths: Sequence[Path]) -> dict[str, str]:
    """Read what the shop says of its tables' columns ("their heading=meaning, ...") and hold it against the tables.

    Raises:
        SettingsError: It cannot be understood, or no table under `paths` has such a heading.
    """
    from kbindex.engines.files import ShopFiles
    from kbindex.ingest import find_headings
    from kbindex.reading.columns import plain_heading

    said = read_columns(asked)
    found = find_headings(paths, ShopFiles(tuple(said))) if said else []
    there = set(map(plain_heading, found))
    for heading in said:
        if plain_heading(heading) not in there:
            listed = ", ".join(f"'{name}'" for name in found) or "none"
            raise SettingsError(f"no table has a column '{heading}'; the headings found are: {listed}; {known_meanings()}")
    return said


def remember_columns(folder: Path, said: Mapping[str, str]) -> None:
    """Keep what the shop says of its columns in the library's settings, so that a later ingest reads them the same way.

    Raises:
        SettingsError: The settings file cannot be read, or not be added to.
        StoreError: The folder cannot be written.
    """
    from kbindex.engines.atomic import whole_file
    from kbindex.reading.columns import plain_heading

    before = load_settings(folder).columns
    new = set(map(plain_heading, said))
    columns = {heading: meaning for heading, meaning in before.items() if plain_heading(heading) not in new} | dict(said)
    if columns == dict(before):
        return
    file = folder / SETTINGS_FILE
    text = with_columns(file.read_text(encoding="utf-8") if file.is_file() else "", columns, file)
    try:
        with whole_file(file) as unfinished:
            unfinished.write_text(text, encoding="utf-8")
    except OSError as error:
        raise StoreError(f"cannot write {file} ({error.strerror}); check that you may write it") from error


def build_index(library: Library, model: str) -> None:
    """Build the vector index file from the library's vectors, make it the one in use, and remove older ones."""
    version = library.passages_version()
    ids, vectors = library.vectors()
    file = INDEX_FILE.format(version=version)
    FaissIndex.build(ids, vectors).write(library.folder / file)
    library.switch_index(Manifest(file, model, int(vectors.shape[1]), "inner product", len(ids), version))
    for old in library.folder.glob(INDEX_FILE.format(version="*")):
        if old.name != file:
            old.unlink(missing_ok=True)


def ask_engines(library: Library) -> AskEngines:
    """Assemble what a question works with; an index that is missing, damaged or stale is made in memory from the truth."""
    settings: Settings = load_settings(library.folder)
    encoder = OnnxMiniLm(settings.sentence_model, allow_hub=settings.allow_hub)
    return AskEngines(encoder, _load_index(library), shop_lexicon(library.folder, settings), settings)


def _load_index(library: Library) -> FaissIndex:
    manifest = library.manifest()
    if manifest and manifest.passages_version == library.passages_version():
        with suppress(EngineError):  # an ingest that has just ended may have taken the file away
            return FaissIndex.read(library.folder / manifest.file)
    return FaissIndex.build(*library.vectors())


@contextmanager
def writing(folder: Path, on_wait: Callable[[], None]) -> Iterator[None]:
    """Hold the library's write lock; `on_wait` is called once when another process holds it.

    Raises:
        StoreError: The folder cannot be written.
    """
    from filelock import FileLock, Timeout

    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock = FileLock(folder / "ingest.lock")
        try:
            lock.acquire(timeout=0.1)
        except Timeout:
            on_wait()
            lock.acquire()
    except OSError as error:
        raise StoreError(f"cannot write in {folder} ({error.strerror}); name another folder with --library") from error
    try:
        yield
    finally:
        lock.release()
