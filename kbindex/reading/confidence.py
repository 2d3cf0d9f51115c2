"""How sure a told attempt is: the chance that its component, its operation and its result are all right.

The heads' chances are too sure of themselves; three weights and a constant put them right (Platt scaling, Platt 1999, with
one weight for each of the three), fitted on voices that the heads were not trained on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.events import Work
from kbindex.reading.heads import Heads, sigmoid
from kbindex.reading.result_choice import Shown

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

TRUST_SIGNS = 3
_LEAST = 0.003
"""No chance counts as surer than this far from 0 or 1."""


def describe_trust(work: Work, shown: Shown) -> Matrix:
    """The log odds of work, of its component and of its result: (TRUST_SIGNS,) float32."""
    chances = np.clip([work.chance, work.component_chance, shown.chance], _LEAST, 1 - _LEAST)
    return np.asarray(np.log(chances / (1 - chances)), dtype=np.float32)


@dataclass(frozen=True)
class Trust:
    """Tells how sure an attempt is."""

    heads: Heads

    def of(self, work: Work, shown: Shown) -> float:
        """The chance that all of it is right."""
        return float(sigmoid(self.heads.apply("trust", describe_trust(work, shown)[None]))[0, 0])
