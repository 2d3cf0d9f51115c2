"""Which jobs a question is about: through what they complain of, never past a count or code that contradicts."""

import pytest

from kbindex.questions import AskedSymptom, Question
from kbindex.records import At, Attempt, Job, Operation, Result, Source, SourceKind, Symptom
from kbindex.search.matching import match_jobs, match_share

AT = At("walk.mp4", None, 0.0, 1.0)


def job(name: str, *tags: str, appliance: str | None = "dishwasher", count: int | None = None, code: str | None = None) -> Job:
    symptoms = (Symptom("said", tags, AT, count, code),) if tags else ()
    return Job(name, (Source(f"{name}.mp4", SourceKind.RECORDING),), appliance=appliance, symptoms=symptoms)


def ask(*symptoms: AskedSymptom, appliance: str | None = None, components: tuple[str, ...] = ()) -> Question:
    return Question("words", appliance, symptoms, components)


def matched(question: Question, *jobs: Job, alike: dict[str, float] | None = None) -> list[str]:
    return [one.id for one in match_jobs(question, jobs, alike or {}, 0.5)]


def test_all_that_was_asked_is_a_whole_match_and_nothing_of_it_none() -> None:
    asked = (AskedSymptom("no_start"), AskedSymptom("beeps", 3))
    assert match_share(asked, job("a", "no_start", "beeps", "leaks", count=3)) == 1.0
    assert match_share(asked, job("b", "leaks")) == 0.0
    assert match_share(asked, job("c")) == 0.0
    assert match_share((), job("a", "beeps")) == 0.0


def test_what_tells_faults_apart_weighs_more_than_what_half_of_the_calls_share() -> None:
    asked = (AskedSymptom("no_start"), AskedSymptom("beeps", 3))
    assert match_share(asked, job("beeps", "beeps", count=3)) == pytest.approx(2 / 3)
    assert match_share(asked, job("start", "no_start")) == pytest.approx(1 / 3)
    question = ask(*asked)
    assert matched(question, job("beeps", "beeps", count=3), job("start", "no_start")) == ["beeps"]


def test_a_fault_that_was_not_asked_for_weighs_against_half_a_match_only() -> None:
    asked = (AskedSymptom("no_start"), AskedSymptom("beeps", 3))
    assert match_share(asked, job("a", "beeps", "no_drain", count=3)) == pytest.approx(2 / 3 - 0.2)
    assert match_share(asked, job("b", "no_start", "beeps", "no_drain", count=3)) == 1.0
    assert match_share(asked, job("c", "beeps", "blinks", "dead", count=3)) == 1.0  # dead is as good as no start


def test_a_count_that_contradicts_rules_out_and_one_not_told_does_not() -> None:
    question = ask(AskedSymptom("beeps", 3))
    jobs = (job("three", "beeps", count=3), job("five", "beeps", count=5), job("some", "beeps"))
    assert matched(question, *jobs) == ["three", "some"]
    assert matched(ask(AskedSymptom("beeps")), *jobs) == ["three", "five", "some"]


def test_a_code_that_contradicts_rules_out() -> None:
    question = ask(AskedSymptom("error_code", None, "E24"))
    jobs = (job("e24", "error_code", code="E24"), job("e25", "error_code", code="E25"), job("none", "error_code"))
    assert matched(question, *jobs) == ["e24", "none"]


def test_a_job_may_tell_of_two_counts() -> None:
    two = Job("two", (), symptoms=(Symptom("a", ("beeps",), AT, 5), Symptom("b", ("beeps",), AT, 3)))
    assert match_share((AskedSymptom("beeps", 3),), two) == 1.0


def test_a_machine_that_was_asked_for_leaves_no_other() -> None:
    jobs = (job("dish", "leaks"), job("wash", "leaks", appliance="washer"), job("unsaid", "leaks", appliance=None))
    assert matched(ask(AskedSymptom("leaks"), appliance="washer"), *jobs) == ["wash"]
    assert matched(ask(AskedSymptom("leaks")), *jobs) == ["dish", "wash", "unsaid"]


def test_dead_is_as_good_as_will_not_start() -> None:
    assert match_share((AskedSymptom("no_start"),), job("a", "dead")) == 1.0
    assert match_share((AskedSymptom("beeps"),), job("a", "blinks")) == 0.5


def test_likeness_of_words_decides_only_where_no_symptom_is_named() -> None:
    jobs = (job("a", "leaks"), job("b", "noise"))
    alike = {"a": 0.49, "b": 0.5}
    assert matched(ask(), *jobs, alike=alike) == ["b"]
    assert matched(ask(AskedSymptom("leaks")), *jobs, alike=alike) == ["a"]
    assert matched(ask(AskedSymptom("sparks")), *jobs, alike=alike) == []


def test_a_part_that_was_asked_for_finds_the_jobs_in_which_it_was_worked_on() -> None:
    work = Attempt(1, Operation.REPLACE, "door latch", Result.FIXED, AT)
    jobs = (Job("latch", (), attempts=(work,)), Job("other", ()))
    assert matched(ask(components=("door latch",)), *jobs, alike={"other": 0.9}) == ["latch"]
