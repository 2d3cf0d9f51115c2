"""Work into ordered attempts with their results.

Work of one kind on one component is one attempt, however often it is spoken of. Parts whose result was shown in one breath
were changed together. What somebody else had done before is an attempt too; when the complaint still stands and no result
was told, it changed nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from kbindex.reading.confidence import Trust
from kbindex.reading.events import Work
from kbindex.reading.result_choice import ResultChoice, Shown
from kbindex.records import Attempt, By, Operation, Outcome, Result, Sentence


@dataclass
class _Open:
    """An attempt in the making."""

    work: Work
    shown: Shown
    partners: set[int] = field(default_factory=set)


def read_attempts(
    told: Sequence[Work], sentences: Sequence[Sentence], choice: ResultChoice, trust: Trust
) -> tuple[Attempt, ...]:
    """Turn work into attempts, what others did first, else in the order in which it was told."""
    works: dict[tuple[str, Operation, By], Work] = {}
    for work in told:
        works.setdefault((work.component, work.operation, work.by), work)
    places = sorted({work.sentence for work in works.values()})
    attempts = [_Open(work, _show(work, places, choice)) for work in works.values()]
    _pair(attempts)
    ordered = sorted(range(len(attempts)), key=lambda n: (attempts[n].work.by is By.US, n))
    numbers = {place: number for number, place in enumerate(ordered, start=1)}
    return tuple(_make_attempt(place, attempts, numbers, sentences, trust) for place in ordered)


def _show(work: Work, places: Sequence[int], choice: ResultChoice) -> Shown:
    """How work turned out; what others did without a result told changed nothing, for the complaint still stands."""
    shown = choice.choose(work.sentence, places)
    if work.by is By.OTHER and shown.result is Result.UNTESTED:
        return Shown(Result.NO_CHANGE, None, shown.chance)
    return shown


def _pair(attempts: Sequence[_Open]) -> None:
    for place, one in enumerate(attempts):
        one.partners = {n for n, other in enumerate(attempts) if n != place and _together(one, other)}


def _together(one: _Open, other: _Open) -> bool:
    """Whether two parts were changed together: one sentence showed the result of both, or none did and they were told in
    one breath."""
    if one.work.by is not other.work.by:
        return False
    if one.shown.result is Result.UNTESTED and other.shown.result is Result.UNTESTED:
        apart = abs(one.work.sentence - other.work.sentence)
        return apart == 0 or (apart == 1 and (one.work.joint_cue or other.work.joint_cue))
    same = (one.shown.result, one.shown.sentence) == (other.shown.result, other.shown.sentence)
    return same and one.shown.sentence is not None


def _make_attempt(
    place: int, attempts: Sequence[_Open], numbers: dict[int, int], sentences: Sequence[Sentence], trust: Trust
) -> Attempt:
    one = attempts[place]
    told = sentences[one.work.sentence]
    result = None if one.shown.sentence is None else sentences[one.shown.sentence]
    return Attempt(
        order=numbers[place],
        operation=one.work.operation,
        component=one.work.component,
        result=one.shown.result,
        at=told.at,
        by=one.work.by,
        together_with=tuple(sorted(numbers[other] for other in one.partners)),
        result_at=result.at if result else None,
        text=told.text,
        result_text=result.text if result else "",
        confidence=round(trust.of(one.work, one.shown), 3),
    )


def judge_outcome(attempts: Sequence[Attempt]) -> tuple[Outcome, int | None]:
    """Tell how a job ended, and the order number of the attempt that cured it.

    The last attempt decides: cured, came back, or never tested. Attempts that were tested without a cure leave the job not
    fixed, also those after an earlier cure that had come back; a job without any attempt is untested.
    """
    tested_since = False
    for attempt in reversed(attempts):
        if attempt.result is Result.FIXED:
            return Outcome.FIXED, min(attempt.order, *attempt.together_with, attempt.order)
        if attempt.result is Result.CAME_BACK:
            return (Outcome.NOT_FIXED if tested_since else Outcome.CAME_BACK), None
        if attempt.result is Result.UNTESTED and attempt.by is By.US:
            return Outcome.UNTESTED, None
        tested_since |= attempt.by is By.US or attempt.result is not Result.UNTESTED
    return (Outcome.NOT_FIXED if attempts else Outcome.UNTESTED), None
