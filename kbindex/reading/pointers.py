"""What a sentence points at: the component that work was done on, the work that a result speaks of.

Both are scored in the same manner: the product of two projections of the encoder's states, plus what the distance says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.lexicon import Mention

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

REACH = 14
"""How many sentences back a component may have been named."""
POINTER_DIM = 64
"""Width of the projections whose product scores a pointer."""
CANDIDATE_SIGNS = 16
WORK_SIGNS = 8


@dataclass(frozen=True)
class Candidate:
    """A component that a sentence may be about: its mention, and the number of the sentence that names it."""

    sentence: int
    mention: Mention


def find_candidates(mentions: Sequence[Sequence[Mention]], place: int, first: int = 0) -> list[Candidate]:
    """All mentions of the sentence at `place`, then the latest one of each other component before it, nearest first.

    `mentions` has one entry a sentence; none before sentence `first` or more than `REACH` sentences back is looked at.
    """
    found = [Candidate(place, mention) for mention in mentions[place]]
    seen = {mention.component for mention in mentions[place]}
    for sentence in range(place - 1, max(first, place - REACH) - 1, -1):
        for mention in reversed(mentions[sentence]):
            if mention.component not in seen:
                seen.add(mention.component)
                found.append(Candidate(sentence, mention))
    return found


def describe_candidates(candidates: Sequence[Candidate], place: int) -> Matrix:
    """How each candidate lies to the sentence at `place`: (candidate_count, CANDIDATE_SIGNS) float32."""
    own = sum(one.sentence == place for one in candidates)
    rows = np.zeros((len(candidates), CANDIDATE_SIGNS), dtype=np.float32)
    for rank, one in enumerate(candidates):
        back = place - one.sentence
        rows[rank] = (
            *_distance_signs(back, 5),
            one.mention.minor,
            one.mention.sure,
            own > 0,
            own > 0 and back > 0,
            rank == own and back > 0,
            rank == 0,
            min(rank, 6) / 6,
            back == 0 and rank == 0,
            back == 0 and rank == own - 1,
            math.log1p(back),
            1.0,
        )
    return rows


def describe_works(works: Sequence[int], place: int) -> Matrix:
    """How each sentence of `works`, in their order, lies to the result told at `place`: (work_count, WORK_SIGNS) float32."""
    rows = np.zeros((len(works), WORK_SIGNS), dtype=np.float32)
    for number, work in enumerate(works):
        later = len(works) - 1 - number
        rows[number] = (*_distance_signs(place - work, 6), later == 0, min(later, 3) / 3, 1.0)
    return rows


def _distance_signs(back: int, far: int) -> tuple[bool, ...]:
    return back == 0, back == 1, back == 2, 3 <= back <= far, back > far
