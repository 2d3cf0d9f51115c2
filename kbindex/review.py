"""The verb "review": what reading is not sure of is offered to a person, and what the person says outlives every new reading.

Everything that waits has a short handle ("p1" a pair of tellings, "a3" an attempt) that never comes to mean another thing,
so that an answer cannot hit the wrong one although documents were taken in since it was listed.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kbindex.doubts import Pair, Telling, Verdict, Waiting, WaitingAttempt, WaitingPair, WorkPlace, place_of
from kbindex.errors import QuestionError
from kbindex.reading.corrections import correct, count_doubtful
from kbindex.reading.joining import join_jobs, same_work
from kbindex.reading.likeness import find_agreements
from kbindex.records import At, Attempt, Job
from kbindex.store.library import Library


@dataclass(frozen=True)
class _Member:
    """A telling as it was read, as people corrected it, and the id of the job that it is part of."""

    read: Job
    corrected: Job
    job_id: str


@dataclass(frozen=True)
class _Doubt:
    """An attempt in review; `places` are all in which its job's documents tell of it, the one shown first."""

    job_id: str
    attempt: Attempt
    places: tuple[WorkPlace, ...]


@dataclass(frozen=True)
class _Open:
    """All tellings by id, and the pairs and attempts that wait by handle."""

    tellings: Mapping[str, _Member]
    pairs: Mapping[str, Pair]
    doubts: Mapping[str, _Doubt]


def rejoin(library: Library) -> None:
    """Join the library's jobs from what the documents tell and what people decided."""
    told = library.told_jobs()
    joined = join_jobs([job for _, _, job in told], library.decisions())
    members = [(one, number, job_id) for (one, number, _), job_id in zip(told, joined.ids, strict=True)]
    library.replace_jobs(joined.jobs, members, joined.doubtful)


def count_waiting(library: Library) -> tuple[int, int]:
    """Count the attempts and the pairs that wait."""
    return count_doubtful(library.jobs()), len(library.doubtful_pairs())


def list_waiting(library: Library) -> Waiting:
    """List what waits for a person, each with its handle."""
    found = _find_open(library)

    def side(telling: str) -> Telling:
        job = found.tellings[telling].corrected
        source = job.sources[0]
        said = [(one.text, one.at) for one in job.symptoms] + [(one.text, one.at) for one in job.attempts]
        text, at = said[0] if said else ("", At(source.path, source.row, source.start_s, source.end_s))
        return Telling(telling, found.tellings[telling].job_id, text, at)

    def pair_of(handle: str, one: str, other: str) -> WaitingPair:
        agree = find_agreements(found.tellings[one].read, found.tellings[other].read)
        return WaitingPair(handle, side(one), side(other), tuple(agree))

    return Waiting(
        tuple(pair_of(handle, *pair) for handle, pair in found.pairs.items()),
        tuple(WaitingAttempt(handle, doubt.job_id, doubt.attempt) for handle, doubt in found.doubts.items()),
    )


def decide(library: Library, said: Sequence[tuple[str, Verdict]], undone: Sequence[str] = ()) -> None:
    """Keep what was said of these handles, take back what was said of `undone` ones, and join the jobs anew; all or nothing.

    Raises:
        QuestionError: A handle is of nothing that waits, or was given twice, or the answers contradict others.
    """
    handles = [handle for handle, _ in said] + list(undone)
    if twice := next((handle for handle in handles if handles.count(handle) > 1), None):
        raise QuestionError(f"'{twice}' was given twice; say one thing of it")
    with library.atomic():
        if undone:
            for handle in undone:
                _undo(library, handle)
            rejoin(library)
        found = _find_open(library)
        for handle, verdict in said:
            _keep(library, found, handle, verdict)
        rejoin(library)
        _check_joined(library, [(handle, found.pairs[handle]) for handle, verdict in said if verdict is Verdict.SAME])


def carry_over(library: Library, old: str, new: str) -> None:
    """Have what people said of a document follow it from its old name to its new one; both are in the library."""
    before, after = library.told_of(old).jobs, library.told_of(new).jobs
    ids = {one.id: other.id for one, other in zip(before, after, strict=False)}
    library.rename_in_decisions(old, new, ids)


def _find_open(library: Library) -> _Open:
    """Find all that waits: pairs first, for that is the order in which new handles are given."""
    tellings = _find_tellings(library)
    pairs = [pair for pair in library.doubtful_pairs() if pair[0] in tellings and pair[1] in tellings]
    doubts = list(_find_doubts(library.jobs(), tellings))
    names = {pair: _name_of_pair(pair) for pair in pairs}
    numbers = library.numbers_of([*names.values(), *(_name_of_place(doubt.places[0]) for doubt in doubts)])
    return _Open(
        tellings,
        {f"p{numbers[name]}": pair for pair, name in names.items()},
        {f"a{numbers[_name_of_place(doubt.places[0])]}": doubt for doubt in doubts},
    )


def _find_tellings(library: Library) -> dict[str, _Member]:
    """What the documents tell, by id; what has not been joined yet is left out."""
    told = library.told_jobs()
    members = library.job_members()
    corrected = correct([job for _, _, job in told], library.decisions())
    return {
        read.id: _Member(read, job, members[document, number])
        for (document, number, read), job in zip(told, corrected, strict=True)
        if (document, number) in members
    }


def _find_doubts(jobs: Sequence[Job], tellings: Mapping[str, _Member]) -> Iterator[_Doubt]:
    by_job: dict[str, list[Job]] = defaultdict(list)
    for member in tellings.values():
        by_job[member.job_id].append(member.corrected)
    for job in jobs:
        for attempt in job.attempts:
            if not attempt.in_review:
                continue
            told = [(one, telling.id) for telling in by_job[job.id] for one in telling.attempts if same_work(one, attempt)]
            told.sort(key=lambda pair: pair[0].at != attempt.at)
            if told:  # else the document has been read anew and its jobs are still to be joined
                yield _Doubt(job.id, attempt, tuple(place_of(one, telling) for one, telling in told))


def _name_of_pair(pair: Pair) -> str:
    return json.dumps(["pair", *pair])


def _name_of_place(place: WorkPlace) -> str:
    where = (place.source, place.row, place.second, place.telling)
    return json.dumps(["attempt", *where, place.component, place.operation.value, place.by.value])


def _keep(library: Library, found: _Open, handle: str, verdict: Verdict) -> None:
    _check_handle(handle, verdict, found)
    number = int(handle[1:])
    if verdict.is_of_pairs:
        library.keep_pair(number, found.pairs[handle], verdict)
        return
    for place in found.doubts[handle].places:
        library.keep_attempt(number, place, verdict)


def _check_handle(handle: str, verdict: Verdict, found: _Open) -> None:
    if handle in (found.pairs if verdict.is_of_pairs else found.doubts):
        return
    if handle in found.pairs or handle in found.doubts:
        what = "an attempt; say --right or --wrong" if handle in found.doubts else "a pair; say --same or --apart"
        raise QuestionError(f"'{handle}' is {what} of it")
    raise QuestionError(
        f"nothing that waits is called '{handle}'; kbindex review lists what waits, --undo takes an answer back"
    )


def _undo(library: Library, handle: str) -> None:
    take_back = {"p": library.take_back_pair, "a": library.take_back_attempt}.get(handle[:1])
    number = handle[1:]
    if take_back is None or not number.isdecimal() or not take_back(int(number)):
        raise QuestionError(f"nothing was said of '{handle}' that could be taken back; kbindex review lists what waits")


def _check_joined(library: Library, same: Sequence[tuple[str, Pair]]) -> None:
    tellings = _find_tellings(library)
    for handle, (one, other) in same:
        if tellings[one].job_id != tellings[other].job_id:
            raise QuestionError(
                f"'{handle}' cannot be one job, other answers keep its two sides apart; nothing was changed: "
                "leave it out, or take another answer back with --undo"
            )
