"""Jobs as told by single documents into the shop's jobs: the same job filmed and noted counts once.

Two tellings are the same job when they carry the same job number, or when enough of what a recording and a note tell of the
same machine agrees. Less than that is not enough to join: such a pair is offered for review.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from kbindex.doubts import Decisions, Pair
from kbindex.reading.attempts import judge_outcome
from kbindex.reading.corrections import correct
from kbindex.reading.likeness import PERHAPS_SAME_JOB, SAME_JOB, are_of_two_kinds, contradict, count_agreements, returns_to
from kbindex.records import Attempt, Job, Outcome, Result, SourceKind

_Item = TypeVar("_Item")
_ADVANCE = {Result.UNTESTED: 0, Result.PARTLY: 1, Result.NO_CHANGE: 1, Result.FIXED: 2, Result.CAME_BACK: 3}


@dataclass(frozen=True)
class Joined:
    """Jobs by id, for each telling the id of the job that it became part of, and pairs that a person should look at.

    The pairs are ids of tellings: for two jobs that may be one, the two tellings of them that are most alike.
    """

    jobs: list[Job]
    ids: list[str]
    doubtful: list[Pair]


_UNDECIDED = Decisions()


def join_jobs(told: Sequence[Job], decided: Decisions = _UNDECIDED) -> Joined:
    """Join tellings into jobs and link callbacks to the jobs that they return to.

    What people decided comes first: attempts called wrong are gone, tellings called the same are joined whatever they
    have in common, and tellings called apart never are, nor are they doubtful any more. How alike tellings are is seen by
    what they were read to tell, so that to correct an attempt parts no job.
    """
    corrected = correct(told, decided)
    groups, doubtful = _group(told, decided)
    ids = [""] * len(told)
    jobs: dict[str, Job] = {}
    for group in groups:
        job = _merge([corrected[place] for place in group])
        if job.id in jobs:  # two jobs were given one number
            job = replace(job, id=min(told[place].id for place in group))
        for place in group:
            ids[place] = job.id
        jobs[job.id] = job
    pairs = sorted((min(told[a].id, told[b].id), max(told[a].id, told[b].id)) for a, b in doubtful)
    return Joined(sorted(_link_callbacks(jobs), key=lambda job: job.id), ids, pairs)


class _Groups:
    """Tellings (by place) in groups that grow; a group never takes in one that is apart from a member."""

    def __init__(self, count: int, apart: Sequence[tuple[int, int]]) -> None:
        self._leader = list(range(count))
        self._apart = apart

    def leader_of(self, place: int) -> int:
        """The place that stands for the group."""
        while self._leader[place] != place:
            self._leader[place] = self._leader[self._leader[place]]
            place = self._leader[place]
        return place

    def are_one(self, one: int, other: int) -> bool:
        """Whether both are in one group."""
        return self.leader_of(one) == self.leader_of(other)

    def are_apart(self, one: int, other: int) -> bool:
        """Whether a person said so of these two or of others in their groups."""
        leaders = {self.leader_of(one), self.leader_of(other)}
        return any({self.leader_of(a), self.leader_of(b)} == leaders for a, b in self._apart)

    def join(self, one: int, other: int) -> None:
        """Make one group of two, unless they are apart."""
        if not self.are_apart(one, other):
            self._leader[self.leader_of(other)] = self.leader_of(one)

    def members(self) -> list[list[int]]:
        """All groups."""
        groups: dict[int, list[int]] = defaultdict(list)
        for place in range(len(self._leader)):
            groups[self.leader_of(place)].append(place)
        return list(groups.values())


def _group(told: Sequence[Job], decided: Decisions) -> tuple[list[list[int]], list[tuple[int, int]]]:
    """Groups of tellings of one job, and pairs of tellings that may be of one."""
    same = _places_of(decided.same, told)
    groups = _Groups(len(told), _places_of(decided.apart, told))
    for one, other in same:
        groups.join(one, other)
    by_number: dict[str, int] = {}
    for place, job in enumerate(told):
        if job.job_no:
            first = by_number.setdefault(job.job_no, place)
            if not contradict(replace(job, date=None), told[first]):
                groups.join(first, place)
    left = []
    taken = {place for pair in same for place in pair}
    for points, one, other in sorted(_alike(told), key=lambda pair: (-pair[0], pair[1:])):
        if groups.are_one(one, other) or groups.are_apart(one, other):
            continue
        if points >= SAME_JOB and not {one, other} & taken:
            groups.join(one, other)
            taken |= {one, other}
        else:
            left.append((one, other))
    return groups.members(), _still_doubtful(left, groups)


def _places_of(pairs: Sequence[Pair], told: Sequence[Job]) -> list[tuple[int, int]]:
    """Pairs of ids as places; a telling may have left with its document."""
    places = {job.id: place for place, job in enumerate(told)}
    return [(places[one], places[other]) for one, other in pairs if one in places and other in places]


def _still_doubtful(pairs: Sequence[tuple[int, int]], groups: _Groups) -> list[tuple[int, int]]:
    """Of each two groups the first pair, where nothing has settled the matter since it was found."""
    first: dict[frozenset[int], tuple[int, int]] = {}
    for one, other in pairs:
        if not groups.are_one(one, other) and not groups.are_apart(one, other):
            first.setdefault(frozenset((groups.leader_of(one), groups.leader_of(other))), (one, other))
    return list(first.values())


def _alike(told: Sequence[Job]) -> Iterator[tuple[int, int, int]]:
    """Pairs of a film and a note of one machine with a piece of work in common or of one day: (points, film, note)."""
    notes: dict[Hashable, list[int]] = defaultdict(list)
    for place, job in enumerate(told):
        if job.sources[0].kind is SourceKind.NOTE:
            for key in _keys(job):
                notes[key].append(place)
    for place, job in enumerate(told):
        if job.sources[0].kind is SourceKind.RECORDING:
            for other in sorted({note for key in _keys(job) for note in notes[key]}):
                points = 0 if contradict(job, told[other]) else count_agreements(job, told[other])
                if points >= PERHAPS_SAME_JOB and are_of_two_kinds(job, told[other]):
                    yield points, place, other


def _keys(job: Job) -> set[Hashable]:
    days: set[Hashable] = {("day", job.date, job.appliance)} if job.date else set()
    return days | {("work", attempt.component, attempt.operation, job.appliance) for attempt in job.attempts}


def _merge(tellings: Sequence[Job]) -> Job:
    """Merge tellings of one job; the fullest gives the order of the attempts, the others add what it leaves out."""
    ranked = sorted(tellings, key=_fullness)
    base = ranked[0]
    attempts = _merge_attempts([job.attempts for job in ranked])
    outcome, fixed_by = judge_outcome(attempts)
    number = _first(job.job_no for job in tellings)
    return replace(
        base,
        id=f"job-{number}" if number else min(job.id for job in tellings),
        sources=tuple(source for job in tellings for source in job.sources),
        job_no=number,
        date=_first(job.date for job in tellings),
        appliance=_first(job.appliance for job in ranked),
        symptoms=tuple(symptom for job in tellings for symptom in job.symptoms),
        checks=tuple(check for job in tellings for check in job.checks),
        attempts=attempts,
        stated_shares=tuple(share for job in tellings for share in job.stated_shares),
        costs=_distinct([cost for job in tellings for cost in job.costs], lambda cost: (cost.component, cost.amount)),
        minutes=_first(job.minutes for job in tellings),
        cautions=tuple(caution for job in tellings for caution in job.cautions),
        callback_of=_first(job.callback_of for job in tellings),
        households=tuple(sorted({mark for job in tellings for mark in job.households})),
        returning=any(job.returning for job in tellings),
        outcome=outcome,
        fixed_by=fixed_by,
    )


def _fullness(job: Job) -> tuple[int, bool, str]:
    """Tellings with more results first; of equals a recording, for it can be watched."""
    tested = sum(attempt.result is not Result.UNTESTED for attempt in job.attempts)
    return (-tested, job.sources[0].kind is not SourceKind.RECORDING, job.sources[0].path)


def _merge_attempts(tellings: Sequence[tuple[Attempt, ...]]) -> tuple[Attempt, ...]:
    merged = list(tellings[0])
    for attempts in tellings[1:]:
        for attempt in attempts:
            place = next((n for n, one in enumerate(merged) if same_work(one, attempt)), None)
            if place is None:
                merged.append(replace(attempt, order=len(merged) + 1, together_with=()))
            else:
                merged[place] = _merge_work(merged[place], attempt)
    return tuple(merged)


def _merge_work(one: Attempt, other: Attempt) -> Attempt:
    """One attempt told twice: what tells more of its result counts; where both tell the same, it is as sure as the surer."""
    if _ADVANCE[other.result] > _ADVANCE[one.result]:
        said = replace(one, result=other.result, result_at=other.result_at, result_text=other.result_text)
        return replace(said, confidence=other.confidence, in_review=other.in_review)
    if one.result is not other.result:
        return one
    return replace(one, confidence=max(one.confidence, other.confidence), in_review=one.in_review and other.in_review)


def same_work(one: Attempt, other: Attempt) -> bool:
    """Whether two tellings of a job speak of one attempt."""
    return (one.component, one.operation, one.by) == (other.component, other.operation, other.by)


def _first(values: Iterable[_Item | None]) -> _Item | None:
    return next((value for value in values if value is not None), None)


def _distinct(items: Sequence[_Item], key: object) -> tuple[_Item, ...]:
    return tuple({key(item): item for item in items}.values())  # type: ignore[operator]


def _link_callbacks(jobs: dict[str, Job]) -> list[Job]:
    """Point each callback at the earlier job's id, and turn that job's cure into one that came back."""
    by_number = {job.job_no: job.id for job in jobs.values() if job.job_no}
    by_household: dict[Hashable, list[Job]] = defaultdict(list)
    for job in jobs.values():
        for mark in job.households:
            by_household[mark, job.appliance].append(job)
    linked = dict(jobs)
    for job in jobs.values():
        named = by_number.get(job.callback_of) if job.callback_of else None
        known = [one for mark in job.households for one in by_household[mark, job.appliance] if returns_to(job, one)]
        latest = max(known, key=lambda one: one.date or "", default=None)
        earlier = named or (latest.id if latest and not job.callback_of else None)
        linked[job.id] = replace(linked[job.id], callback_of=earlier if earlier != job.id else None)
        if earlier and earlier != job.id:
            linked[earlier] = _came_back(linked[earlier])
    return list(linked.values())


def _came_back(job: Job) -> Job:
    if job.outcome is not Outcome.FIXED:
        return job
    cure = next(a for a in job.attempts if a.order == job.fixed_by)
    cured = {cure.order, *cure.together_with}
    attempts = tuple(replace(a, result=Result.CAME_BACK) if a.order in cured else a for a in job.attempts)
    return replace(job, attempts=attempts, outcome=Outcome.CAME_BACK, fixed_by=None)
