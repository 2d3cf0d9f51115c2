"""Files that are there wholly or not at all."""

from __future__ import annotations

import os
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_MARK = ".unfinished-"
_ABANDONED_S = 3600.0


@contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Give a path beside `target` to write to; at the end it takes the target's place in one step, on the disk.

    Two processes may do this at once: the later one wins, each file is whole. After an exception nothing is left; what
    a killed process left is removed by a later call, once it is an hour old.

    Raises:
        OSError: The folder cannot be written.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    _remove_abandoned(target)
    unfinished = target.with_name(f"{target.name}{_MARK}{os.getpid()}-{secrets.token_hex(4)}")
    try:
        yield unfinished
        _flush(unfinished)
        os.replace(unfinished, target)
        _flush_folder(target.parent)
    finally:
        unfinished.unlink(missing_ok=True)


def _remove_abandoned(target: Path) -> None:
    for left in target.parent.glob(f"{target.name}{_MARK}*"):
        try:
            if time.time() - left.stat().st_mtime > _ABANDONED_S:
                left.unlink()
        except OSError:
            continue  # another process took it


def _flush(file: Path) -> None:
    with file.open("rb+") as stream:
        os.fsync(stream.fileno())


def _flush_folder(folder: Path) -> None:
    """Put the new name on the disk too; Windows cannot open folders and does so by itself."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
