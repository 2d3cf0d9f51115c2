"""Events into ordered attempts with their results: a small state machine over one job.

Work opens an attempt; a result closes all that were opened since the last one. Work of one kind on one component is one
attempt, however often it is spoken of. Parts changed with no run between them were changed together. What somebody else had
done before is an attempt too; when the complaint still stands and no result was told, it changed nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from kbindex.reading.events import Turn, Work
from kbindex.records import Attempt, By, Outcome, Result, Sentence

_ENOUGH = 0.5
_ENOUGH_AT_THE_END = 0.4
_SURE = 0.7
_A_GOOD_WHILE = 3


@dataclass
class _Open:
    """An attempt in the making."""

    work: Work
    result: Result = Result.UNTESTED
    turn: Turn | None = None
    partners: set[int] = field(default_factory=set)


def read_attempts(events: Sequence[Work | Turn], sentences: Sequence[Sentence]) -> tuple[Attempt, ...]:
    """Turn events into attempts, in the order in which the work was done."""
    attempts: list[_Open] = []
    hint: Turn | None = None
    for event in events:
        if isinstance(event, Work):
            if _new_work(attempts, event):
                _settle_by_hint(attempts, hint, event)
                attempts.append(_Open(event))
                hint = None
        elif event.chance >= _ENOUGH:
            _close(attempts, event)
            hint = None
        elif hint is None or event.chance > hint.chance:
            hint = event
    if hint and hint.chance >= _ENOUGH_AT_THE_END:
        _close_waiting(attempts, hint)
    _settle_others(attempts)
    _pair_untested(attempts)
    ordered = sorted(range(len(attempts)), key=lambda n: (attempts[n].work.by is By.US, n))
    numbers = {place: number for number, place in enumerate(ordered, start=1)}
    return tuple(_make_attempt(place, attempts, numbers, sentences) for place in ordered)


def _new_work(attempts: Sequence[_Open], work: Work) -> bool:
    """Whether this is work not told of yet; what was done once is often spoken of again."""
    waiting = [one for one in attempts if one.turn is None and one.work.by is work.by]
    if work.recalled and waiting:
        return False
    return not any(
        (one.work.component, one.work.operation, one.work.by) == (work.component, work.operation, work.by) for one in attempts
    )


def _settle_by_hint(attempts: list[_Open], hint: Turn | None, work: Work) -> None:
    """Going on to other work a good while later says that what came before had not cured; a hint then is enough."""
    waiting = [one for one in attempts if one.turn is None]
    if hint and waiting and work.sentence - waiting[-1].work.sentence > _A_GOOD_WHILE and hint.result is not Result.FIXED:
        _close_waiting(attempts, hint)


def _close_waiting(attempts: list[_Open], turn: Turn) -> bool:
    """Give a result to the attempts that wait for one, those of the person who worked last."""
    waiting = [place for place, one in enumerate(attempts) if one.turn is None]
    if not waiting:
        return False
    last_by = attempts[waiting[-1]].work.by
    group = [place for place in waiting if attempts[place].work.by is last_by]
    for place in group:
        attempts[place].result, attempts[place].turn = turn.result, turn
        attempts[place].partners = {other for other in group if other != place}
    return True


def _close(attempts: list[_Open], turn: Turn) -> None:
    if not _close_waiting(attempts, turn):
        _revise(attempts, turn)


def _revise(attempts: list[_Open], turn: Turn) -> None:
    """A further result with nothing waiting for one: it corrects the last attempt's, when it says so surely."""
    ours = [one for one in attempts if one.turn is not None]
    if not ours:
        return
    last = ours[-1]
    if turn.component and turn.component != last.work.component and any(a.work.component == turn.component for a in attempts):
        return
    partners = [attempts[place] for place in last.partners]
    if turn.result is last.result and last.turn is not None and turn.chance > last.turn.chance:
        for one in (last, *partners):
            one.turn = turn
    came_back = turn.result is Result.CAME_BACK and last.result is Result.FIXED
    better = last.result in (Result.PARTLY, Result.NO_CHANGE) and turn.result is Result.FIXED and turn.chance >= _SURE
    worse = last.result is Result.FIXED and turn.result in (Result.NO_CHANGE, Result.PARTLY) and turn.chance >= _SURE
    if came_back or (better and last.result is Result.PARTLY) or worse:
        for one in (last, *partners):
            one.result, one.turn = turn.result, turn


def _settle_others(attempts: list[_Open]) -> None:
    for one in attempts:
        if one.work.by is By.OTHER and one.turn is None:
            one.result = Result.NO_CHANGE


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
