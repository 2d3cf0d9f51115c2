"""Jobs told by several documents, and callbacks."""

from dataclasses import replace

import pytest

from kbindex.doubts import Decisions
from kbindex.reading import corrections
from kbindex.reading.joining import join_jobs
from kbindex.records import At, Attempt, Cost, Job, Operation, Outcome, Result, Source, SourceKind, Symptom


@pytest.fixture(autouse=True)
def doubt_below(monkeypatch: pytest.MonkeyPatch) -> None:
    """The threshold of these tests, whatever the program's is set to."""
    monkeypatch.setattr(corrections, "DOUBTFUL_BELOW", 0.6)


def told(path: str, **changes: object) -> Job:
    kind = SourceKind.RECORDING if path.endswith(".mp4") else SourceKind.NOTE
    at = At(path, None, 1.0, 2.0) if kind is SourceKind.RECORDING else At(path)
    attempt = Attempt(1, Operation.REPLACE, "door latch", Result.FIXED, at, result_at=at)
    job = Job(
        id="j-" + path,
        sources=(Source(path, kind),),
        appliance="dishwasher",
        symptoms=(Symptom("beeps", ("beeps",), at),),
        attempts=(attempt,),
        outcome=Outcome.FIXED,
        fixed_by=1,
    )
    return replace(job, **changes)  # type: ignore[arg-type]


def test_the_same_number_filmed_and_noted_is_one_job() -> None:
    joined = join_jobs([told("a.mp4", job_no="2057"), told("b.txt", job_no="2057", date="2026-03-02")])
    jobs = joined.jobs
    assert joined.ids == ["job-2057", "job-2057"]
    (job,) = jobs
    assert [source.path for source in job.sources] == ["a.mp4", "b.txt"]
    assert (job.date, len(job.attempts), job.outcome) == ("2026-03-02", 1, Outcome.FIXED)
    assert job.attempts[0].at.source == "a.mp4"


def test_day_machine_complaint_and_part_join_a_film_and_a_note() -> None:
    jobs = join_jobs([told("a.mp4", date="2026-03-02"), told("b.txt", date="2026-03-02")]).jobs
    assert len(jobs) == 1


def test_two_notes_of_a_day_are_two_jobs() -> None:
    jobs = join_jobs([told("a.txt", date="2026-03-02"), told("b.txt", date="2026-03-02")]).jobs
    assert len(jobs) == 2


def test_other_numbers_machines_or_days_keep_jobs_apart() -> None:
    first = told("a.mp4", date="2026-03-02", job_no="2057")
    for other in (
        told("b.txt", date="2026-03-02", job_no="2058"),
        told("b.txt", date="2026-03-03"),
        told("b.txt", date="2026-03-02", job_no="2057", appliance="washer"),
    ):
        jobs = join_jobs([first, other]).jobs
        assert len({job.id for job in jobs}) == len(jobs)
        assert sum(len(job.sources) for job in jobs) == 2 or len(jobs) == 1


def test_what_the_film_left_open_the_note_tells() -> None:
    at = At("a.mp4", None, 1.0, 2.0)
    open_attempt = Attempt(1, Operation.REPLACE, "door latch", Result.UNTESTED, at)
    film = told("a.mp4", job_no="1", attempts=(open_attempt,), outcome=Outcome.UNTESTED, fixed_by=None)
    (job,) = join_jobs([film, told("b.txt", job_no="1")]).jobs
    assert [(a.component, a.result) for a in job.attempts] == [("door latch", Result.FIXED)]
    assert (job.outcome, job.fixed_by) == (Outcome.FIXED, 1)


def test_a_callback_turns_the_earlier_cure_into_one_that_came_back() -> None:
    first = told("a.txt", job_no="2041")
    second = told("b.txt", job_no="2061", callback_of="2041")
    jobs = join_jobs([first, second]).jobs
    by_number = {job.job_no: job for job in jobs}
    assert by_number["2041"].outcome is Outcome.CAME_BACK
    assert by_number["2041"].attempts[0].result is Result.CAME_BACK
    assert by_number["2041"].fixed_by is None
    assert by_number["2061"].callback_of == "job-2041"
    assert by_number["2061"].outcome is Outcome.FIXED


def test_a_callback_to_a_job_that_is_not_here_points_nowhere() -> None:
    (job,) = join_jobs([told("b.txt", job_no="2061", callback_of="999")]).jobs
    assert job.callback_of is None


def test_without_number_and_day_only_much_in_common_joins() -> None:
    costs = (Cost("door latch", 22.0, "USD", At("x")),)
    film, note = told("a.mp4", minutes=35, costs=costs), told("b.txt", minutes=35, costs=costs)
    assert len(join_jobs([film, note]).jobs) == 1
    apart = join_jobs([film, told("b.txt", minutes=20)])
    assert len(apart.jobs) == 2
    assert apart.doubtful == []


def test_some_agreement_is_a_matter_for_a_person() -> None:
    film, note = told("a.mp4", date="2026-03-02", attempts=()), told("b.txt", date="2026-03-02", attempts=())
    joined = join_jobs([film, note])
    assert len(joined.jobs) == 2
    assert joined.doubtful == [("j-a.mp4", "j-b.txt")]


def test_the_same_machine_at_the_same_household_returns() -> None:
    first = told("a.txt", date="2026-01-05", households=(7,))
    again = told("b.txt", date="2026-02-09", households=(7,))
    stranger = told("c.txt", date="2026-02-10", households=(8,))
    by_id = {job.id: job for job in join_jobs([first, again, stranger]).jobs}
    assert by_id["j-b.txt"].callback_of == "j-a.txt"
    assert by_id["j-a.txt"].outcome is Outcome.CAME_BACK
    assert by_id["j-c.txt"].callback_of is None


def test_without_days_a_return_must_be_told_as_one() -> None:
    first, again = told("a.txt", households=(7,)), told("b.txt", households=(7,))
    assert all(job.callback_of is None for job in join_jobs([first, again]).jobs)
    by_id = {job.id: job for job in join_jobs([first, replace(again, returning=True)]).jobs}
    assert by_id["j-b.txt"].callback_of == "j-a.txt"


def pair(one: str, other: str) -> tuple[tuple[str, str], ...]:
    return ((f"j-{one}", f"j-{other}"),)


def test_what_people_call_the_same_is_joined_whatever_it_has_in_common() -> None:
    film, note = told("a.mp4"), told("b.txt", appliance="washer", symptoms=(), attempts=())
    assert len(join_jobs([film, note]).jobs) == 2
    joined = join_jobs([film, note], Decisions(same=pair("a.mp4", "b.txt")))
    assert joined.ids == ["j-a.mp4", "j-a.mp4"]
    assert [source.path for source in joined.jobs[0].sources] == ["a.mp4", "b.txt"]


def test_what_people_call_apart_is_never_joined_and_no_longer_doubtful() -> None:
    alike = [told("a.mp4", date="2026-03-02"), told("b.txt", date="2026-03-02")]
    apart = Decisions(apart=pair("a.mp4", "b.txt"))
    assert len(join_jobs(alike).jobs) == 1
    assert len(join_jobs(alike, apart).jobs) == 2
    doubtful = [replace(one, attempts=()) for one in alike]
    assert join_jobs(doubtful).doubtful == [("j-a.mp4", "j-b.txt")]
    assert join_jobs(doubtful, apart).doubtful == []


def test_apart_goes_before_a_number_and_both_jobs_are_kept() -> None:
    numbered = [told("a.mp4", job_no="2057"), told("b.txt", job_no="2057")]
    joined = join_jobs(numbered, Decisions(apart=pair("a.mp4", "b.txt")))
    assert joined.ids == ["job-2057", "j-b.txt"]
    assert [job.id for job in joined.jobs] == ["j-b.txt", "job-2057"]


def test_one_number_given_to_two_machines_loses_no_job() -> None:
    joined = join_jobs([told("a.mp4", job_no="2057"), told("b.txt", job_no="2057", appliance="washer")])
    assert [job.appliance for job in joined.jobs] == ["washer", "dishwasher"]
    assert joined.ids == ["job-2057", "j-b.txt"]


def test_apart_holds_for_everything_that_either_side_is_joined_with() -> None:
    film, note = told("a.mp4", date="2026-03-02", job_no="7"), told("b.txt", date="2026-03-02")
    again = told("c.mp4", date="2026-03-02", job_no="7")
    joined = join_jobs([film, note, again], Decisions(apart=pair("a.mp4", "b.txt")))
    assert joined.ids == ["job-7", "j-b.txt", "job-7"]
    assert joined.doubtful == []


def test_two_jobs_are_one_question_however_many_tellings_they_have() -> None:
    films = [told(name, date="2026-03-02", job_no="7", attempts=()) for name in ("a.mp4", "c.mp4")]
    joined = join_jobs([*films, told("b.txt", date="2026-03-02", attempts=())])
    assert joined.doubtful == [("j-a.mp4", "j-b.txt")]


def test_decisions_on_tellings_that_are_gone_change_nothing() -> None:
    jobs = [told("a.mp4"), told("b.txt", appliance="washer")]
    gone = Decisions(same=pair("a.mp4", "gone.txt"), apart=pair("b.txt", "gone.mp4"))
    assert join_jobs(jobs, gone) == join_jobs(jobs)


def sure(job: Job, confidence: float, result: Result = Result.FIXED) -> Job:
    return replace(job, attempts=(replace(job.attempts[0], confidence=confidence, result=result),))


def test_told_twice_alike_is_as_sure_as_the_surer() -> None:
    film, note = told("a.mp4", job_no="1"), told("b.txt", job_no="1")
    (job,) = join_jobs([sure(film, 0.4), sure(note, 0.9)]).jobs
    assert (job.attempts[0].confidence, job.attempts[0].in_review) == (0.9, False)
    (job,) = join_jobs([sure(film, 0.4), sure(note, 0.5)]).jobs
    assert (job.attempts[0].confidence, job.attempts[0].in_review) == (0.5, True)


def test_a_result_from_another_telling_is_as_sure_as_that_telling() -> None:
    film, note = told("a.mp4", job_no="1"), told("b.txt", job_no="1")
    board = Attempt(2, Operation.REPLACE, "control board", Result.NO_CHANGE, At("a.mp4", None, 3.0, 4.0))
    film = replace(film, attempts=(replace(film.attempts[0], result=Result.UNTESTED, confidence=0.9), board))
    note = replace(note, attempts=(replace(note.attempts[0], confidence=0.3),))
    (job,) = join_jobs([film, note]).jobs
    latch = next(one for one in job.attempts if one.component == "door latch")
    assert (latch.at.source, latch.result, latch.confidence, latch.in_review) == ("a.mp4", Result.FIXED, 0.3, True)
