"""Events into ordered attempts with their results: a small state machine over one job.

Work opens an attempt; a result closes the attempts that it points at, and going on to other work makes a hint that nothing
was cured into a result. Work of one kind on one component is one attempt,
however often it is spoken of. Parts whose result was told in one breath were changed together. What somebody else had done
before is an attempt too; when the complaint still stands and no result was told, it changed nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

from kbindex.reading.events import TURN, Turn, Work
from kbindex.records import Attempt, By, Outcome, Result, Sentence

_POINTED_AT = 0.5
"""Chance from which a result speaks of a piece of work."""
_WORTH_REVISING = {
    (Result.FIXED, Result.CAME_BACK),
    (Result.PARTLY, Result.FIXED),
    (Result.PARTLY, Result.CAME_BACK),
    (Result.FIXED, Result.NO_CHANGE),
    (Result.FIXED, Result.PARTLY),
}
"""A result told before and one told of the same work later, where the later one counts."""


class Links(Protocol):
    """Which work a result speaks of."""

    def chances(self, place: int, works: Sequence[int]) -> list[float]:
        """The chance that the result told in sentence `place` is that of the work told in each sentence of `works`."""
        ...


class LatestWork:
    """Without trained links a result speaks of the work told last."""

    def chances(self, place: int, works: Sequence[int]) -> list[float]:
        """All certainty to the latest work."""
        return [float(work == works[-1]) for work in works]


@dataclass
class _Open:
    """An attempt in the making."""

    work: Work
    result: Result = Result.UNTESTED
    turn: Turn | None = None
    settled: bool = False
    partners: set[int] = field(default_factory=set)


def read_attempts(
    events: Sequence[Work | Turn], sentences: Sequence[Sentence], links: Links | None = None
) -> tuple[Attempt, ...]:
    """Turn events into attempts, in the order in which the work was done."""
    attempts: list[_Open] = []
    hint: Turn | None = None
    links = links or LatestWork()
    for event in events:
        if isinstance(event, Work):
            if _is_new(attempts, event):
                if hint and hint.sentence < event.sentence and hint.result is not Result.FIXED:
                    _take_result(attempts, hint, links)
                attempts.append(_Open(event))
                hint = None
        elif event.chance >= TURN:
            _take_result(attempts, event, links)
            hint = None
        elif hint is None or event.chance > hint.chance:
            hint = event
    _settle_others(attempts)
    _pair_untested(attempts)
    ordered = sorted(range(len(attempts)), key=lambda n: (attempts[n].work.by is By.US, n))
    numbers = {place: number for number, place in enumerate(ordered, start=1)}
    return tuple(_make_attempt(place, attempts, numbers, sentences) for place in ordered)


def _is_new(attempts: Sequence[_Open], work: Work) -> bool:
    """Whether this is work not told of yet; what was done once is often spoken of again."""
    told = (work.component, work.operation, work.by)
    return not any((one.work.component, one.work.operation, one.work.by) == told for one in attempts)


def _take_result(attempts: list[_Open], turn: Turn, links: Links) -> None:
    """Give a result to the attempts that it points at; a cure is never that of others' work with own work done since."""
    if not attempts:
        return
    if turn.result is Result.FIXED and attempts[-1].work.by is By.US:
        _settle_others(attempts)
    works = sorted({one.work.sentence for one in attempts if not one.settled} or {attempts[-1].work.sentence})
    chances = dict(zip(works, links.chances(turn.sentence, works), strict=True))
    best = max(works, key=chances.__getitem__)
    aimed = [work for work in works if chances[work] >= _POINTED_AT] or [best]
    group = {place for place, one in enumerate(attempts) if one.work.sentence in aimed}
    waiting = {place for place in group if attempts[place].turn is None and not attempts[place].settled}
    for place in waiting:
        one = attempts[place]
        one.result, one.turn = turn.result, turn
        one.partners = {other for other in waiting if other != place and attempts[other].work.by is one.work.by}
    for place in group - waiting:
        one = attempts[place]
        if (one.result, turn.result) in _WORTH_REVISING:
            one.result, one.turn = turn.result, turn


def _settle_others(attempts: list[_Open]) -> None:
    """What others did without a result told changed nothing, for the complaint still stands."""
    for one in attempts:
        if one.work.by is By.OTHER and one.turn is None and one.result is Result.UNTESTED:
            one.result, one.settled = Result.NO_CHANGE, True


def _pair_untested(attempts: list[_Open]) -> None:
    """Parts never tested were changed together when they were told of in one breath."""
    waiting = [place for place, one in enumerate(attempts) if one.result is Result.UNTESTED]
    for place in waiting:
        for other in waiting:
            close = abs(attempts[place].work.sentence - attempts[other].work.sentence)
            cue = attempts[place].work.joint_cue or attempts[other].work.joint_cue
            if place != other and (close == 0 or (close == 1 and cue)):
                attempts[place].partners.add(other)


def _make_attempt(place: int, attempts: Sequence[_Open], numbers: dict[int, int], sentences: Sequence[Sentence]) -> Attempt:
    one = attempts[place]
    told = sentences[one.work.sentence]
    result = sentences[one.turn.sentence] if one.turn and one.result is not Result.UNTESTED else None
    return Attempt(
        order=numbers[place],
        operation=one.work.operation,
        component=one.work.component,
        result=one.result,
        at=told.at,
        by=one.work.by,
        together_with=tuple(sorted(numbers[other] for other in one.partners)),
        result_at=result.at if result else None,
        text=told.text,
        result_text=result.text if result else "",
        confidence=round(min(one.work.chance, one.turn.chance if one.turn else 1.0), 3),
    )


def judge_outcome(attempts: Sequence[Attempt]) -> tuple[Outcome, int | None]:
    """Tell how a job ended, and the order number of the attempt that cured it.

    The last attempt decides: cured, came back, or never tested. Attempts that were all tested without a cure leave the job
    not fixed; a job without any attempt is untested.
    """
    for attempt in reversed(attempts):
        if attempt.result is Result.FIXED:
            return Outcome.FIXED, min(attempt.order, *attempt.together_with, attempt.order)
        if attempt.result is Result.CAME_BACK:
            return Outcome.CAME_BACK, None
        if attempt.result is Result.UNTESTED and attempt.by is By.US:
            return Outcome.UNTESTED, None
    return (Outcome.NOT_FIXED if attempts else Outcome.UNTESTED), None
