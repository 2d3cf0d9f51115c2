"""What reading is not sure of, and what people said of it.

A piece of work is known by where it is told and what it is, never by its words: another hearing of a recording may have
other words for it. Two tellings are known by their ids, which stay while their documents keep their names.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from kbindex.records import At, Attempt, By, Operation

Pair = tuple[str, str]
"""The ids of two tellings, the smaller first."""


class Verdict(StrEnum):
    """What a person may say: of two tellings, whether they are one job; of an attempt, whether it is as it was read."""

    SAME = "same"
    APART = "apart"
    RIGHT = "right"
    WRONG = "wrong"

    @property
    def is_of_pairs(self) -> bool:
        """Whether this is said of two tellings."""
        return self in (Verdict.SAME, Verdict.APART)


@dataclass(frozen=True)
class WorkPlace:
    """A piece of work by its place: a row, or the second at which it starts (rounded), or else which telling it is in.

    `telling` is empty where row or second say it: those stay when a document comes to be cut into jobs otherwise.
    """

    source: str
    row: int | None
    second: int | None
    telling: str
    component: str
    operation: Operation
    by: By


def place_of(attempt: Attempt, telling: str) -> WorkPlace:
    """The place of an attempt in the telling of this id."""
    at = attempt.at
    second = None if at.start_s is None else round(at.start_s)
    known = at.row is not None or second is not None
    return WorkPlace(at.source, at.row, second, "" if known else telling, attempt.component, attempt.operation, attempt.by)


@dataclass(frozen=True)
class Decisions:
    """All that people decided in a library."""

    same: tuple[Pair, ...] = ()
    apart: tuple[Pair, ...] = ()
    right: tuple[WorkPlace, ...] = ()
    wrong: tuple[WorkPlace, ...] = ()


@dataclass(frozen=True)
class Agreement:
    """Something that two tellings have in common, and how much it speaks for their being one job."""

    what: str
    detail: str
    points: int


@dataclass(frozen=True)
class Telling:
    """One side of a pair: the job that it is part of now, and a sentence of it with its place."""

    id: str
    job: str
    text: str
    at: At


@dataclass(frozen=True)
class WaitingPair:
    """Two tellings that may be of one job."""

    handle: str
    one: Telling
    other: Telling
    agree: tuple[Agreement, ...]


@dataclass(frozen=True)
class WaitingAttempt:
    """An attempt that reading is not sure of."""

    handle: str
    job: str
    attempt: Attempt


@dataclass(frozen=True)
class Waiting:
    """All that waits for a person."""

    pairs: tuple[WaitingPair, ...]
    attempts: tuple[WaitingAttempt, ...]
