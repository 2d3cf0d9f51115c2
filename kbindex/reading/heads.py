"""The weights of heads and pointers, applied with numpy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]


@dataclass(frozen=True)
class Heads:
    """The weights of heads and pointers by name, float32; a matrix is (out, in), as it multiplies a state."""

    tensors: Mapping[str, Matrix]

    def apply(self, name: str, rows: Matrix) -> Matrix:
        """Apply one linear layer to rows of states: (row_count, in) to (row_count, out)."""
        return np.asarray(rows @ self.tensors[f"{name}.weight"].T + self.tensors[f"{name}.bias"], dtype=np.float32)

    def point(self, name: str, asking: Matrix, offered: Matrix, signs: Matrix) -> Matrix:
        """Score what one state may point at: the product of two projections, plus what the places say.

        `asking` is (in,), `offered` (candidate_count, dim), `signs` (candidate_count, sign_count); gives (candidate_count,).
        """
        asked = self.apply(f"point.{name}.query", asking[None])[0]
        products = self.apply(f"point.{name}.key", offered) @ asked / np.sqrt(len(asked))
        return np.asarray(products + self.apply(f"point.{name}.place", signs)[:, 0], dtype=np.float32)


def chances_of(scores: Matrix) -> Matrix:
    """The softmax of each row."""
    shifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    return np.asarray(shifted / shifted.sum(axis=1, keepdims=True), dtype=np.float32)


def sigmoid(scores: Matrix) -> Matrix:
    """The chance of each score by itself."""
    return np.asarray(1 / (1 + np.exp(-scores)), dtype=np.float32)
