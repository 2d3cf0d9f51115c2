"""A document as the encoder sees it: one state a token, each knowing the sentences around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]


@dataclass(frozen=True)
class SentenceStates:
    """The states of one sentence's tokens, (token_count, dim) float32, and each token's (start, end) characters."""

    tokens: Matrix
    places: Sequence[tuple[int, int]]

    def mean(self) -> Matrix:
        """The sentence as a whole, (dim,)."""
        return np.asarray(self.tokens.mean(axis=0), dtype=np.float32)

    def mean_of(self, start: int, end: int) -> Matrix:
        """The words from character `start` to `end`, (dim,); the sentence's first token where no token lies there."""
        inside = [row for row, (a, b) in enumerate(self.places) if a < end and b > start]
        chosen = self.tokens[inside[0] : inside[-1] + 1] if inside else self.tokens[:1]
        return np.asarray(chosen.mean(axis=0), dtype=np.float32)


class DocumentEncoder(Protocol):
    """What reads a document before its sentences are judged."""

    def encode(self, texts: Sequence[str]) -> list[SentenceStates]:
        """Give the states of each sentence of one document, in order."""
        ...

    def encode_words(self, words: Sequence[str]) -> Matrix:
        """Give for each word of a stream what tells whether a sentence ends after it: (word_count, width) float32."""
        ...
