"""What people said of attempts, whatever the words; and what is counted while they have not said anything."""

from dataclasses import replace

import pytest

from kbindex.doubts import Decisions, WorkPlace, place_of
from kbindex.evidence.counting import count_fixes
from kbindex.reading import corrections
from kbindex.reading.corrections import correct, count_doubtful, leave_out_doubtful
from kbindex.records import At, Attempt, By, Job, Operation, Outcome, Result, Source, SourceKind

LATCH, BOARD, SEAL = "door latch", "control board", "door seal"


@pytest.fixture(autouse=True)
def doubt_below(monkeypatch: pytest.MonkeyPatch) -> None:
    """The threshold of these tests, whatever the program's is set to."""
    monkeypatch.setattr(corrections, "DOUBTFUL_BELOW", 0.6)


def tried(order: int, component: str, result: Result, confidence: float = 0.9, *partners: int) -> Attempt:
    at = At("walk.mp4", None, 10.0 * order, 10.0 * order + 5)
    return Attempt(order, Operation.REPLACE, component, result, at, together_with=partners, confidence=confidence)


def job(*attempts: Attempt, outcome: Outcome = Outcome.FIXED, fixed_by: int | None = None, number: int = 1) -> Job:
    source = (Source("walk.mp4", SourceKind.RECORDING),)
    return Job(f"j-{number}", source, attempts=attempts, outcome=outcome, fixed_by=fixed_by, minutes=40)


def place(component: str, second: int, **changes: object) -> WorkPlace:
    return replace(WorkPlace("walk.mp4", None, second, "", component, Operation.REPLACE, By.US), **changes)  # type: ignore[arg-type]


def told(one: Job, decided: Decisions = Decisions()) -> Job:
    (corrected,) = correct([one], decided)
    return corrected


@pytest.mark.parametrize(("confidence", "waits"), [(0.59, True), (0.6, False), (1.0, False)])
def test_below_the_threshold_an_attempt_waits(confidence: float, waits: bool) -> None:
    one = job(tried(1, LATCH, Result.FIXED, confidence), fixed_by=1)
    assert [attempt.in_review for attempt in told(one).attempts] == [waits]
    assert (told(one).outcome, told(one).fixed_by) == (Outcome.FIXED, 1)


def test_what_a_person_confirmed_waits_no_longer() -> None:
    one = job(tried(1, LATCH, Result.FIXED, 0.2), tried(2, BOARD, Result.UNTESTED, 0.2))
    corrected = told(one, Decisions(right=(place(LATCH, 10),)))
    assert [attempt.in_review for attempt in corrected.attempts] == [False, True]


def test_a_wrong_attempt_is_gone_and_the_rest_is_numbered_and_judged_anew() -> None:
    both = (tried(2, LATCH, Result.NO_CHANGE, 0.9, 3), tried(3, SEAL, Result.NO_CHANGE, 0.9, 2))
    one = job(tried(1, BOARD, Result.FIXED), *both, fixed_by=1)
    corrected = told(one, Decisions(wrong=(place(BOARD, 10),)))
    assert [(a.order, a.component, a.together_with) for a in corrected.attempts] == [(1, LATCH, (2,)), (2, SEAL, (1,))]
    assert (corrected.outcome, corrected.fixed_by) == (Outcome.NOT_FIXED, None)
    alone = told(one, Decisions(wrong=(place(SEAL, 30),)))
    assert [(a.order, a.component, a.together_with) for a in alone.attempts] == [(1, BOARD, ()), (2, LATCH, ())]
    assert (alone.outcome, alone.fixed_by) == (Outcome.FIXED, 1)


@pytest.mark.parametrize(
    ("said_of", "hits"),
    [
        (place(LATCH, 10), True),
        (place(LATCH, 12), True),  # another hearing starts the sentence a little later
        (place(LATCH, 8), True),
        (place(LATCH, 13), False),
        (place(BOARD, 10), False),
        (place(LATCH, 10, by=By.OTHER), False),
        (place(LATCH, 10, operation=Operation.ADJUST), False),
        (place(LATCH, 10, source="other.mp4"), False),
    ],
)
def test_a_decision_is_on_a_place_not_on_words(said_of: WorkPlace, hits: bool) -> None:
    first = replace(tried(1, LATCH, Result.FIXED), text="stuck a new latch in her")
    assert bool(told(job(first, fixed_by=1), Decisions(wrong=(said_of,))).attempts) != hits


def test_jobs_written_in_one_note_and_rows_of_a_table_are_told_apart() -> None:
    written = Attempt(1, Operation.REPLACE, LATCH, Result.FIXED, At("diary.txt"))
    first, second = job(written, number=1), job(written, number=2)
    after = correct([first, second], Decisions(wrong=(place_of(written, "j-1"),)))
    assert [len(one.attempts) for one in after] == [0, 1]
    rows = [job(replace(written, at=At("tickets.csv", row)), number=row) for row in (3, 4)]
    after = correct(rows, Decisions(wrong=(place_of(rows[1].attempts[0], "whatever"),)))
    assert [len(one.attempts) for one in after] == [1, 0]


def counted(*jobs: Job) -> dict[str, tuple[int, int, int, int]]:
    """(fixed, tried, untested, jobs that ended fixed) by component."""
    fixes = count_fixes([leave_out_doubtful(told(one)) for one in jobs], (), "USD")
    return {fix.component: (fix.fixed, fix.tried, fix.untested, fix.share.of) for fix in fixes}


def test_a_job_whose_cure_is_in_doubt_did_not_end_fixed() -> None:
    sure = job(tried(1, LATCH, Result.FIXED), fixed_by=1, number=1)
    doubtful = job(tried(1, BOARD, Result.NO_CHANGE), tried(2, LATCH, Result.FIXED, 0.3), fixed_by=2, number=2)
    assert counted(sure, doubtful) == {LATCH: (1, 1, 0, 1), BOARD: (0, 1, 0, 1)}
    confirmed = replace(doubtful, attempts=tuple(replace(one, confidence=0.9) for one in doubtful.attempts))
    assert counted(sure, confirmed) == {LATCH: (2, 2, 0, 2), BOARD: (0, 1, 0, 2)}


def test_a_doubtful_attempt_takes_nothing_from_a_sure_one() -> None:
    late = job(tried(1, LATCH, Result.FIXED), tried(2, BOARD, Result.UNTESTED, 0.3), outcome=Outcome.UNTESTED)
    assert counted(late) == {LATCH: (1, 1, 0, 1)}


def test_what_was_changed_together_with_a_doubtful_part_is_not_counted_alone() -> None:
    both = (tried(1, LATCH, Result.FIXED, 0.9, 2), tried(2, SEAL, Result.FIXED, 0.3, 1))
    assert counted(job(*both, fixed_by=1)) == {}


def test_the_time_of_a_job_is_not_that_of_the_sure_part_of_its_work() -> None:
    one = told(job(tried(1, BOARD, Result.NO_CHANGE, 0.3), tried(2, LATCH, Result.FIXED), fixed_by=2))
    assert (leave_out_doubtful(one).minutes, leave_out_doubtful(one).fixed_by) == (None, 1)
    sure = told(job(tried(1, LATCH, Result.FIXED), fixed_by=1))
    assert leave_out_doubtful(sure) == sure


def test_what_is_left_out_for_review_is_counted_without_its_partners() -> None:
    both = (tried(1, LATCH, Result.FIXED, 0.9, 2), tried(2, SEAL, Result.FIXED, 0.3, 1))
    doubtful, sure = told(job(*both, tried(3, BOARD, Result.UNTESTED, 0.2))), told(job(tried(1, LATCH, Result.FIXED)))
    assert [count_doubtful(jobs) for jobs in ([], [sure], [doubtful, sure], [leave_out_doubtful(doubtful)])] == [0, 0, 2, 0]
