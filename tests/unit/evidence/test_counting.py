"""Fixes are counted over jobs: what cured, what was tried, and what nobody knows."""

from collections.abc import Sequence

from kbindex.evidence.counting import count_fixes
from kbindex.evidence.rates import wilson_rate
from kbindex.questions import Fix
from kbindex.records import At, Attempt, Cost, Job, Kind, Operation, Outcome, Result, Source, SourceKind, StatedShare

REPLACE, CLEAN = Operation.REPLACE, Operation.CLEAN


def tried(order: int, component: str, result: Result, operation: Operation = REPLACE, *partners: int) -> Attempt:
    at = At("walk.mp4", None, float(order), order + 0.5)
    result_at = None if result is Result.UNTESTED else At("walk.mp4", None, order + 0.6, order + 0.9)
    return Attempt(order, operation, component, result, at, together_with=partners, result_at=result_at, text="work")


def job(number: int, *attempts: Attempt, fixed_by: int | None = None, outcome: Outcome | None = None, **more: object) -> Job:
    ended = outcome or (Outcome.FIXED if fixed_by else Outcome.NOT_FIXED)
    source = Source(f"{number}.mp4", SourceKind.RECORDING)
    return Job(f"job-{number}", (source,), attempts=attempts, outcome=ended, fixed_by=fixed_by, **more)  # type: ignore[arg-type]


def count(jobs: Sequence[Job], prices: Sequence[Job] | None = None, currency: str = "USD") -> dict[str, Fix]:
    return {fix.component: fix for fix in count_fixes(jobs, jobs if prices is None else prices, currency)}


def test_no_jobs_no_fixes() -> None:
    assert count_fixes([], [], "USD") == ()


def test_each_share_has_its_own_denominator() -> None:
    jobs = [
        job(1, tried(1, "door latch", Result.FIXED), fixed_by=1),
        job(2, tried(1, "control board", Result.NO_CHANGE), tried(2, "door latch", Result.FIXED), fixed_by=2),
        job(3, tried(1, "door latch", Result.NO_CHANGE), tried(2, "control board", Result.FIXED), fixed_by=2),
        job(4, tried(1, "door latch", Result.NO_CHANGE)),
    ]
    fixes = count(jobs)
    latch, board = fixes["door latch"], fixes["control board"]
    assert (latch.fixed, latch.tried) == (2, 4)
    assert (board.fixed, board.tried) == (1, 2)
    assert latch.share == wilson_rate(2, 3)  # three of the jobs ended fixed
    assert latch.when_tried == wilson_rate(2, 4)
    assert board.share == wilson_rate(1, 3)
    assert board.when_tried == wilson_rate(1, 2)
    assert [fix.component for fix in count_fixes(jobs, jobs, "USD")] == ["door latch", "control board"]


def test_the_same_fix_twice_in_a_job_counts_once() -> None:
    again = job(1, tried(1, "door latch", Result.NO_CHANGE), tried(2, "door latch", Result.FIXED), fixed_by=2)
    latch = count([again])["door latch"]
    assert (latch.fixed, latch.tried, latch.untested) == (1, 1, 0)
    assert len([clip for clip in latch.clips if clip.kind is Kind.ACTION]) == 2


def test_the_same_part_worked_on_in_two_ways_is_two_fixes() -> None:
    jobs = [job(1, tried(1, "drain pump", Result.NO_CHANGE, CLEAN), tried(2, "drain pump", Result.FIXED), fixed_by=2)]
    counted = {fix.operation: (fix.fixed, fix.tried) for fix in count_fixes(jobs, jobs, "USD")}
    assert counted == {REPLACE: (1, 1), CLEAN: (0, 1)}


def test_parts_changed_at_once_are_counted_apart_from_each_alone() -> None:
    both = (tried(1, "drain pump", Result.FIXED, REPLACE, 2), tried(2, "drain hose", Result.FIXED, REPLACE, 1))
    jobs = [job(1, *both, fixed_by=1), job(2, tried(1, "drain pump", Result.NO_CHANGE))]
    fixes = count(jobs)
    assert (fixes["drain hose + drain pump"].fixed, fixes["drain hose + drain pump"].tried) == (1, 1)
    assert (fixes["drain pump"].fixed, fixes["drain pump"].tried) == (0, 1)
    assert "drain hose" not in fixes


def test_parts_changed_at_once_count_as_cure_whichever_is_named() -> None:
    both = (tried(1, "drain pump", Result.FIXED, REPLACE, 2), tried(2, "drain hose", Result.FIXED, REPLACE, 1))
    for named in (1, 2):
        assert count([job(1, *both, fixed_by=named)])["drain hose + drain pump"].fixed == 1


def test_what_came_back_was_tried_and_is_not_fixed() -> None:
    jobs = [job(1, tried(1, "door latch", Result.CAME_BACK), outcome=Outcome.CAME_BACK)]
    latch = count(jobs)["door latch"]
    assert (latch.fixed, latch.tried) == (0, 1)
    assert latch.share.value is None  # no job ended fixed: no share, not a share of nothing
    assert latch.when_tried.value == 0.0
    kept = job(2, tried(1, "door latch", Result.CAME_BACK), fixed_by=1, outcome=Outcome.CAME_BACK)
    assert count([kept])["door latch"].fixed == 0  # the outcome counts, whatever is noted as the cure


def test_what_was_never_tested_is_in_neither_share_but_shown() -> None:
    jobs = [
        job(1, tried(1, "door latch", Result.FIXED), fixed_by=1),
        job(2, tried(1, "door latch", Result.UNTESTED), outcome=Outcome.UNTESTED),
        job(3, tried(1, "touch panel", Result.UNTESTED), outcome=Outcome.UNTESTED),
    ]
    fixes = count(jobs)
    latch, panel = fixes["door latch"], fixes["touch panel"]
    assert (latch.fixed, latch.tried, latch.untested, latch.when_tried.of, latch.share.of) == (1, 1, 1, 1, 1)
    assert (panel.fixed, panel.tried, panel.untested) == (0, 0, 1)
    assert panel.when_tried.value is None
    assert panel.jobs == ("job-3",)


def test_a_partial_result_was_tried_and_is_not_fixed() -> None:
    fix = count([job(1, tried(1, "drain hose", Result.PARTLY))])["drain hose"]
    assert (fix.fixed, fix.tried) == (0, 1)


def test_clips_show_the_action_and_its_result_of_every_job() -> None:
    jobs = [job(1, tried(1, "door latch", Result.FIXED), fixed_by=1), job(2, tried(1, "door latch", Result.UNTESTED))]
    clips = [(clip.kind, clip.job, clip.at.start_s) for clip in count(jobs)["door latch"].clips]
    assert clips == [(Kind.ACTION, "job-1", 1.0), (Kind.RESULT, "job-1", 1.6), (Kind.ACTION, "job-2", 1.0)]


def test_stated_shares_come_from_the_jobs_and_count_nothing() -> None:
    said = StatedShare("door latch", 0.9, 0.9, "nine times out of ten", At("1.mp4", None, 1.0, 2.0))
    other = StatedShare("touch panel", 0.5, 0.5, "half the time", At("1.mp4", None, 3.0, 4.0))
    jobs = [job(1, tried(1, "door latch", Result.NO_CHANGE), stated_shares=(said, other))]
    latch = count(jobs)["door latch"]
    assert latch.stated == (said,)
    assert (latch.fixed, latch.tried) == (0, 1)


def priced(number: int, *costs: tuple[str | None, float, str]) -> Job:
    said = tuple(Cost(component, amount, currency, At(f"{number}.txt")) for component, amount, currency in costs)
    return job(number, tried(1, "door latch", Result.FIXED), fixed_by=1, costs=said)


def test_a_price_is_one_a_job_in_the_shops_currency() -> None:
    jobs = [
        priced(1, ("door latch", 40, "USD"), ("door latch", 44, "USD")),  # the later of the two counts
        priced(2, ("door latch", 35, "USD"), (None, 90, "USD")),
        priced(3, ("door latch", 30, "EUR")),
        priced(4, ("control board", 180, "USD")),
    ]
    cost = count(jobs)["door latch"].part_cost
    assert cost is not None
    assert (cost.median, cost.low, cost.high, cost.n, cost.currency) == (39.5, 35, 44, 2, "USD")


def test_prices_come_from_all_jobs_of_the_machine_and_only_for_new_parts() -> None:
    matched = [job(1, tried(1, "door latch", Result.FIXED), fixed_by=1)]
    cost = count(matched, [*matched, priced(2, ("door latch", 42, "USD"))])["door latch"].part_cost
    assert cost is not None and cost.median == 42
    cleaned = [job(1, tried(1, "door latch", Result.FIXED, CLEAN), fixed_by=1)]
    assert count(cleaned, [priced(2, ("door latch", 42, "USD"))])["door latch"].part_cost is None


def test_minutes_count_only_where_the_cure_was_all_the_work() -> None:
    jobs = [
        job(1, tried(1, "door latch", Result.FIXED), fixed_by=1, minutes=20),
        job(2, tried(1, "door latch", Result.FIXED), fixed_by=1, minutes=40),
        job(3, tried(1, "control board", Result.NO_CHANGE), tried(2, "door latch", Result.FIXED), fixed_by=2, minutes=200),
        job(4, tried(1, "door latch", Result.NO_CHANGE), minutes=300),
    ]
    minutes = count(jobs)["door latch"].minutes
    assert minutes is not None
    assert (minutes.median, minutes.low, minutes.high, minutes.n) == (30, 20, 40, 2)
