"""How a piece of work turned out: for each, one choice among all sentences from it on, and "nothing was shown".

A result is never read by itself. Of all that is said after the work, the choice weighs which sentence shows its end (an
interim result is overtaken by a later one, a figure means something only after what was done) and what it shows.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from kbindex.reading.heads import Heads, chances_of
from kbindex.reading.pointers import POINTER_DIM, describe_turns
from kbindex.reading.signs import TURNS
from kbindex.records import Result

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]


@dataclass(frozen=True)
class Shown:
    """How work turned out, the number of the sentence that shows it (None where nothing does), and the chance of it."""

    result: Result
    sentence: int | None
    chance: float


NOTHING_SHOWN = Shown(Result.UNTESTED, None, 1.0)


class ResultChoice(Protocol):
    """Tells how work turned out."""

    def choose(self, work: int, works: Sequence[int]) -> Shown:
        """Choose for the work told in sentence `work`; `works` are all sentences that tell work, in order."""
        ...


class TrainedChoice:
    """The choice by trained weights over `rows`, (sentence_count, width) float32; `silent` sentences show nothing."""

    def __init__(self, heads: Heads, rows: Matrix, silent: Collection[int] = ()) -> None:
        self._heads = heads
        self._asked, self._offered = heads.apply("result.query", rows), heads.apply("result.key", rows)
        self._nothing = heads.apply("result.nothing", rows)[:, 0]
        self._turns = heads.apply("turn", rows)
        self._silent = frozenset(silent)

    def choose(self, work: int, works: Sequence[int]) -> Shown:
        """Choose for the work told in sentence `work`; `works` are all sentences that tell work, in order."""
        places = [place for place in range(work, len(self._asked)) if place not in self._silent]
        if not places:
            return NOTHING_SHOWN
        products = self._offered[places] * self._asked[work]
        near = self._heads.apply("result.place", describe_turns(work, places, works))[:, 0]
        scores = products.sum(axis=1) / np.sqrt(POINTER_DIM) + near
        which = chances_of(np.concatenate([self._nothing[work : work + 1], scores])[None])[0]
        joint = which[1:, None] * chances_of(self._turns[places] + self._heads.apply("result.class", products))
        totals = joint.sum(axis=0)
        totals[0] += which[0]
        best = int(totals.argmax())
        if best == 0:
            return Shown(Result.UNTESTED, None, float(totals[0]))
        return Shown(Result(TURNS[best]), places[int(joint[:, best].argmax())], float(totals[best]))
