"""What words point at: the component that work was done on, the sentence that shows how it turned out, what an amount is of.

All are scored in the same manner: the product of two projections of the encoder's states, plus what their places say.
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
AHEAD = 2
"""How many sentences further on the component of an amount may be named."""
CANDIDATE_SIGNS = 16
TURN_SIGNS = 14
AMOUNT_SIGNS = 20


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


def find_named_near(mentions: Sequence[Sequence[Mention]], place: int) -> list[Candidate]:
    """The candidates for an amount in the sentence at `place`: as for work, then those that the next sentences name first."""
    found = find_candidates(mentions, place)
    seen = {one.mention.component for one in found}
    for sentence in range(place + 1, min(len(mentions), place + 1 + AHEAD)):
        for mention in mentions[sentence]:
            if mention.component not in seen:
                seen.add(mention.component)
                found.append(Candidate(sentence, mention))
    return found


def describe_amount(candidates: Sequence[Candidate], place: int, start: int, end: int) -> Matrix:
    """How each candidate lies to the amount at the characters `start` to `end` of the sentence at `place`.

    (candidate_count, AMOUNT_SIGNS) float32.
    """
    own = [one.mention for one in candidates if one.sentence == place]
    gaps = [_gap(mention, start, end) for mention in own]
    rows = np.zeros((len(candidates), AMOUNT_SIGNS), dtype=np.float32)
    for rank, one in enumerate(candidates):
        back, gap = place - one.sentence, _gap(one.mention, start, end)
        here = back == 0
        between = sum(other is not one.mention and other_gap < gap for other, other_gap in zip(own, gaps, strict=True))
        rows[rank] = (
            *_distance_signs(back, 5),
            back == -1,
            back < -1,
            one.mention.minor,
            one.mention.sure,
            bool(own),
            bool(own) and not here,
            here and one.mention.end <= start,
            here and one.mention.start >= end,
            here and gap <= 2,
            here * min(gap / 30, 3.0),
            here * min(between, 3) / 3,
            here and gap == min(gaps),
            rank == len(own) and back > 0,
            math.log1p(abs(back)),
            1.0,
        )
    return rows


def _gap(mention: Mention, start: int, end: int) -> int:
    return max(mention.start - end, start - mention.end, 0)


def describe_turns(work: int, places: Sequence[int], works: Sequence[int]) -> Matrix:
    """How each sentence of `places` lies to the work told at `work`; `works` are all sentences that tell work, in order.

    (place_count, TURN_SIGNS) float32.
    """
    rows = np.zeros((len(places), TURN_SIGNS), dtype=np.float32)
    telling = frozenset(works)
    for number, place in enumerate(places):
        later = sum(work < other < place for other in works)
        further = sum(other > place for other in works)
        rows[number] = (
            *_distance_signs(place - work, 6),
            later == 0,
            later == 1,
            later == 2,
            min(later, 4) / 4,
            place != work and place in telling,
            further == 0,
            min(further, 3) / 3,
            math.log1p(place - work),
            1.0,
        )
    return rows


def _distance_signs(back: int, far: int) -> tuple[bool, ...]:
    return back == 0, back == 1, back == 2, 3 <= back <= far, back > far
