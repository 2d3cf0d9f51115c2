"""Which files of a shop's folders are recordings, timed texts and notes, and which of them have changed."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from kbindex.errors import SettingsError

NOTE_ENDINGS = frozenset((".md", ".txt", ".csv", ".docx", ".pdf"))
TIMED_TEXT_ENDINGS = (".vtt", ".srt")
_MEDIA_NAMES = (
    ".mp4 .mov .m4a .m4v .mkv .avi .webm .mp3 .wav .aac .ogg .oga .opus .flac .3gp .mts .m2ts .mpg .mpeg .wmv .wma .ts .amr"
)
_MEDIA_ENDINGS = frozenset(_MEDIA_NAMES.split())
_OTHER_NAMES = (
    ".json .jsonl .yaml .yml .toml .ini .py .html .htm .css .js .xml .jpg .jpeg .png .gif .bmp .svg .heic .tif .tiff "
    ".zip .gz .log .sqlite .db .xlsx .xls .doc .ppt .pptx .exe .ds_store .faiss .onnx .lock .ass .sub"
)
_NEVER_MEDIA = frozenset(_OTHER_NAMES.split())


class Form(Enum):
    """How a document is read."""

    RECORDING = "recording"
    TIMED_TEXT = "timed text"
    NOTE = "note"


@dataclass(frozen=True)
class Item:
    """A document found: its file, what it is called in the library, and timed text lying beside a recording."""

    file: Path
    path: str
    form: Form
    timed_text: Path | None = None

    def files(self) -> tuple[Path, ...]:
        """All files that the document is made of."""
        return (self.file,) if self.timed_text is None else (self.file, self.timed_text)


@dataclass(frozen=True)
class Fingerprint:
    """Size and time of an item's files together: equal ones are taken to be unchanged."""

    size: int
    mtime_ns: int


def find_items(asked: Sequence[Path], is_media: Callable[[Path], bool]) -> list[Item]:
    """Find the documents under files and folders; each file once, folders before sub-folders, by name.

    Raises:
        SettingsError: A path does not exist, a folder cannot be opened, or a single named file is neither a recording
            nor a note.
    """
    found: dict[Path, Item] = {}
    for one in asked:
        path = one.expanduser()
        if not path.exists():
            raise SettingsError(
                f"{one} does not exist; check the spelling, or name the folder that holds your recordings and notes"
            )
        root = path.resolve()
        files = sorted(_walk(root)) if root.is_dir() else _with_recording(root, is_media)
        base = root if root.is_dir() else root.parent
        items = list(_classify(files, base, is_media))
        if not root.is_dir() and not items:
            raise SettingsError(
                f"{one} is neither a recording nor a note; recordings are any video or audio file, "
                f"notes are {', '.join(sorted(NOTE_ENDINGS))}"
            )
        for item in items:
            found.setdefault(item.file, item)
    return list(found.values())


def _walk(root: Path) -> Iterator[Path]:
    try:
        entries = list(root.iterdir())
    except OSError as error:
        # To go on without it would take its documents for removed.
        raise SettingsError(
            f"{root} cannot be opened ({error.strerror}); check that you may read it, or name other folders"
        ) from error
    for entry in entries:
        if entry.name.startswith((".", "~$")):
            continue
        if entry.is_dir() and not entry.is_symlink():
            yield from _walk(entry)
        elif entry.is_file():
            yield entry


def _with_recording(file: Path, is_media: Callable[[Path], bool]) -> list[Path]:
    """A single file; timed text brings the recording that it lies beside, for the two are one document."""
    if file.suffix.lower() not in TIMED_TEXT_ENDINGS:
        return [file]
    beside = (other for other in file.parent.iterdir() if other.stem == file.stem and other.is_file())
    return sorted([file, *(other for other in beside if _is_recording(other, is_media))])


def name_apart(item: Item, taken: Collection[str]) -> str:
    """Name an item so that no other document is called the same, by as many of its folders as that takes.

    Two folders that are asked for may hold files of one name ("IMG_0001.mp4").
    """
    parts, length = item.file.parts, len(Path(item.path).parts)
    names = ("/".join(parts[-count:]) for count in range(length, len(parts)))
    return next((name for name in names if name not in taken), item.file.as_posix())


def _classify(files: Iterable[Path], base: Path, is_media: Callable[[Path], bool]) -> Iterator[Item]:
    listed = list(files)
    beside = {file.with_suffix(""): file for file in listed if file.suffix.lower() == ".srt"}
    beside |= {file.with_suffix(""): file for file in listed if file.suffix.lower() == ".vtt"}
    media = {file.with_suffix("") for file in listed if _is_recording(file, is_media)}
    for file in listed:
        name, ending = file.relative_to(base).as_posix(), file.suffix.lower()
        if ending in NOTE_ENDINGS:
            yield Item(file, name, Form.NOTE)
        elif ending in TIMED_TEXT_ENDINGS:
            if file.with_suffix("") not in media and beside[file.with_suffix("")] == file:
                yield Item(file, name, Form.TIMED_TEXT)
        elif file.with_suffix("") in media and _is_recording(file, is_media):
            yield Item(file, name, Form.RECORDING, beside.get(file.with_suffix("")) or _sidecar_of(file))


def _sidecar_of(file: Path) -> Path | None:
    return next((side for ending in TIMED_TEXT_ENDINGS if (side := file.with_suffix(ending)).is_file()), None)


def _is_recording(file: Path, is_media: Callable[[Path], bool]) -> bool:
    ending = file.suffix.lower()
    if ending in _MEDIA_ENDINGS:
        return True
    return ending not in NOTE_ENDINGS and ending not in TIMED_TEXT_ENDINGS and ending not in _NEVER_MEDIA and is_media(file)


def fingerprint(item: Item) -> Fingerprint:
    """Read size and time of an item's files."""
    stats = [file.stat() for file in item.files()]
    return Fingerprint(sum(stat.st_size for stat in stats), max(stat.st_mtime_ns for stat in stats))


def content_hash(item: Item) -> str:
    """Hash the content of an item's files (SHA-256, hexadecimal)."""
    digest = hashlib.sha256()
    for file in item.files():
        with file.open("rb") as stream:
            while block := stream.read(1 << 20):
                digest.update(block)
        digest.update(b"|")
    return digest.hexdigest()
