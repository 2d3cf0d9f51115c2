"""The real command with vectors made of hashes in place of the sentence model: light enough to be started many times.

Run as a script: python light.py PAUSE_S COMMAND...; it rests PAUSE_S seconds before each document's vectors. With
LIGHT_DIES_AT="COMMIT:7" in the environment it kills itself before the seventh SQL statement that begins so.
"""

from __future__ import annotations

import hashlib
import os
import signal
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from kbindex import assemble, cli
from kbindex.store.library import Library

DIM = 384


class HashVectors:
    """Fulfils `contracts.SentenceEncoder`; a text always has the same vector, and only itself is like it."""

    name = "hash vectors"

    def __init__(self, pause_s: float = 0.0) -> None:
        self._pause_s = pause_s

    def encode(self, texts: Sequence[str]) -> np.ndarray:
        time.sleep(self._pause_s)
        return np.stack([_vector_of(text) for text in texts]) if texts else np.zeros((0, DIM), dtype=np.float32)


def _vector_of(text: str) -> np.ndarray:
    seed = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
    vector = np.random.default_rng(seed).standard_normal(DIM).astype(np.float32)
    return vector / np.linalg.norm(vector)


def die_at(statement: str, number: int) -> None:
    """Have the process kill itself before a statement of a library that it opens."""
    seen = 0

    def watch(sql: str) -> None:
        nonlocal seen
        seen += sql.startswith(statement)
        if seen == number:
            os.kill(os.getpid(), signal.SIGKILL)

    def open_watched(folder: Path, *, create: bool = False) -> Library:
        library = Library.open(folder, create=create)
        library._connection.set_trace_callback(watch)
        return library

    assemble.open_library = open_watched


def main() -> None:
    """Run the command with hash vectors."""
    if moment := os.environ.get("LIGHT_DIES_AT"):
        statement, number = moment.split(":")
        die_at(statement, int(number))
    encoder = HashVectors(float(sys.argv.pop(1)))
    assemble.OnnxMiniLm = lambda name, **_: encoder  # type: ignore[assignment,misc]
    cli.main()


if __name__ == "__main__":
    main()
