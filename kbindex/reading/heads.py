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


def chances_of(scores: Matrix) -> Matrix:
    """The softmax of each row."""
    shifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    return np.asarray(shifted / shifted.sum(axis=1, keepdims=True), dtype=np.float32)


def sigmoid(scores: Matrix) -> Matrix:
    """The chance of each score by itself."""
    return np.asarray(1 / (1 + np.exp(-scores)), dtype=np.float32)
