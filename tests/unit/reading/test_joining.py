"""Jobs told by several documents, and callbacks."""

from dataclasses import replace

from kbindex.reading.joining import join_jobs
from kbindex.records import At, Attempt, Job, Operation, Outcome, Result, Source, SourceKind, Symptom


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
    jobs, ids = join_jobs([told("a.mp4", job_no="2057"), told("b.txt", job_no="2057", date="2026-03-02")])
    assert ids == ["job-2057", "job-2057"]
    (job,) = jobs
    assert [source.path for source in job.sources] == ["a.mp4", "b.txt"]
    assert (job.date, len(job.attempts), job.outcome) == ("2026-03-02", 1, Outcome.FIXED)
    assert job.attempts[0].at.source == "a.mp4"


def test_day_machine_complaint_and_part_join_a_film_and_a_note() -> None:
    jobs, _ = join_jobs([told("a.mp4", date="2026-03-02"), told("b.txt", date="2026-03-02")])
    assert len(jobs) == 1


def test_two_notes_of_a_day_are_two_jobs() -> None:
    jobs, _ = join_jobs([told("a.txt", date="2026-03-02"), told("b.txt", date="2026-03-02")])
    assert len(jobs) == 2


def test_other_numbers_machines_or_days_keep_jobs_apart() -> None:
    first = told("a.mp4", date="2026-03-02", job_no="2057")
    for other in (
        told("b.txt", date="2026-03-02", job_no="2058"),
        told("b.txt", date="2026-03-03"),
        told("b.txt", date="2026-03-02", job_no="2057", appliance="washer"),
    ):
        jobs, _ = join_jobs([first, other])
        assert len({job.id for job in jobs}) == len(jobs)
        assert sum(len(job.sources) for job in jobs) == 2 or len(jobs) == 1


def test_what_the_film_left_open_the_note_tells() -> None:
    at = At("a.mp4", None, 1.0, 2.0)
    open_attempt = Attempt(1, Operation.REPLACE, "door latch", Result.UNTESTED, at)
    film = told("a.mp4", job_no="1", attempts=(open_attempt,), outcome=Outcome.UNTESTED, fixed_by=None)
    (job,), _ = join_jobs([film, told("b.txt", job_no="1")])
    assert [(a.component, a.result) for a in job.attempts] == [("door latch", Result.FIXED)]
    assert (job.outcome, job.fixed_by) == (Outcome.FIXED, 1)


def test_a_callback_turns_the_earlier_cure_into_one_that_came_back() -> None:
    first = told("a.txt", job_no="2041")
    second = told("b.txt", job_no="2061", callback_of="2041")
    jobs, _ = join_jobs([first, second])
    by_number = {job.job_no: job for job in jobs}
    assert by_number["2041"].outcome is Outcome.CAME_BACK
    assert by_number["2041"].attempts[0].result is Result.CAME_BACK
    assert by_number["2041"].fixed_by is None
    assert by_number["2061"].callback_of == "job-2041"
    assert by_number["2061"].outcome is Outcome.FIXED


def test_a_callback_to_a_job_that_is_not_here_points_nowhere() -> None:
    (job,), _ = join_jobs([told("b.txt", job_no="2061", callback_of="999")])
    assert job.callback_of is None
