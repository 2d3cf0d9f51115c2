"""What people said of single attempts, put to what the documents tell; and a job without what still waits to be confirmed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from kbindex.doubts import Decisions, WorkPlace, place_of
from kbindex.reading.attempts import judge_outcome
from kbindex.records import Attempt, Job

DOUBTFUL_BELOW = 0.4
"""Confidence below which a person should look at an attempt before it counts: on the dev voices 16 of the 23 below it are wrong."""
_SLIP_S = 2
"""Another hearing, or other cuts between sentences, may set the start of one this far off."""

_Places = Mapping[WorkPlace, Sequence[int | None]]
"""Seconds by place, the second left out of the place."""


def correct(told: Sequence[Job], decided: Decisions) -> list[Job]:
    """Take out the attempts that people called wrong, and mark the doubtful ones that nobody has confirmed."""
    wrong, right = _by_place(decided.wrong), _by_place(decided.right)
    corrected = []
    for job in told:
        places = {attempt.order: place_of(attempt, job.id) for attempt in job.attempts}
        kept = [
            replace(one, in_review=one.confidence < DOUBTFUL_BELOW and not _is_among(places[one.order], right))
            for one in job.attempts
            if not _is_among(places[one.order], wrong)
        ]
        corrected.append(_with_only(kept, job) if len(kept) < len(job.attempts) else replace(job, attempts=tuple(kept)))
    return corrected


def leave_out_doubtful(job: Job) -> Job:
    """The job as it counts: as if attempts in review, and what was changed together with them, had not been told.

    Its time is left out too, for it is the time of all the work.
    """
    doubtful = {attempt.order for attempt in job.attempts if attempt.in_review}
    if not doubtful:
        return job
    sure = [one for one in job.attempts if one.order not in doubtful and not doubtful & set(one.together_with)]
    return replace(_with_only(sure, job), minutes=None)


def count_doubtful(jobs: Iterable[Job]) -> int:
    """Count the attempts of jobs that are in review."""
    return sum(attempt.in_review for job in jobs for attempt in job.attempts)


def _with_only(kept: Sequence[Attempt], job: Job) -> Job:
    """The job with these of its attempts, numbered anew, and the outcome that they give it."""
    numbers = {attempt.order: number for number, attempt in enumerate(kept, start=1)}
    attempts = tuple(
        replace(
            attempt,
            order=numbers[attempt.order],
            together_with=tuple(numbers[one] for one in attempt.together_with if one in numbers),
        )
        for attempt in kept
    )
    outcome, fixed_by = judge_outcome(attempts)
    return replace(job, attempts=attempts, outcome=outcome, fixed_by=fixed_by)


def _by_place(places: Iterable[WorkPlace]) -> _Places:
    seconds: dict[WorkPlace, list[int | None]] = defaultdict(list)
    for place in places:
        seconds[replace(place, second=None)].append(place.second)
    return seconds


def _is_among(place: WorkPlace, places: _Places) -> bool:
    return any(_is_near(place.second, second) for second in places.get(replace(place, second=None), ()))


def _is_near(one: int | None, other: int | None) -> bool:
    return one == other if one is None or other is None else abs(one - other) <= _SLIP_S
