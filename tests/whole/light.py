"""The real command with vectors made of hashes in place of the sentence model: light enough to be started many times.

Run as a script: python light.py PAUSE_S COMMAND...; it rests PAUSE_S seconds before each document's vectors.
"""

from __future__ import annotations

import hashlib
import sys
import time
from collections.abc import Sequence

import numpy as np

from kbindex import assemble, cli

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


def main() -> None:
    """Run the command with hash vectors."""
    encoder = HashVectors(float(sys.argv.pop(1)))
    assemble.OnnxMiniLm = lambda name: encoder  # type: ignore[assignment,misc]
    cli.main()


if __name__ == "__main__":
    main()
