"""Events and the state machine over them, with verdicts made by hand."""

from made import Told, action, result, sentence, verdict

from kbindex.reading.attempts import judge_outcome, read_attempts
from kbindex.reading.events import find_events
from kbindex.reading.lexicon import load_lexicon
from kbindex.records import Attempt, By, Operation, Outcome, Result


def read(told: Told, machine: str | None = "dishwasher") -> tuple[Attempt, ...]:
    sentences = [sentence(text, number) for number, (text, _) in enumerate(told)]
    events = find_events(sentences, [judged for _, judged in told], machine, load_lexicon())
    return read_attempts(events, sentences)


def brief(attempts: tuple[Attempt, ...]) -> list[tuple[str, str, str]]:
    return [(a.operation.value, a.component, a.result.value) for a in attempts]


def test_a_first_fix_fails_and_a_second_works() -> None:
    attempts = read(
        [
            ("It just beeps three times and sits there.", verdict("symptom")),
            action("So I put a new latch in it."),
            result("Nope, same three beeps.", "no_change"),
            action("Then I swapped the control board."),
            result("And away it goes, filling up.", "fixed"),
        ]
    )
    assert brief(attempts) == [("replace", "door latch", "no_change"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(), ()]
    assert (attempts[1].at.start_s, attempts[1].result_at and attempts[1].result_at.start_s) == (30.0, 40.0)
    assert judge_outcome(attempts) == (Outcome.FIXED, 2)


def test_part_in_and_nothing_run_is_untested() -> None:
    attempts = read([action("I fitted a new drain pump."), ("Button it up, thanks for watching.", verdict())])
    assert brief(attempts) == [("replace", "drain pump", "untested")]
    assert attempts[0].result_at is None
    assert judge_outcome(attempts) == (Outcome.UNTESTED, None)


def test_he_says_that_he_has_not_run_it() -> None:
    told = [action("I fitted a new inlet valve."), ("I have not seen it fill yet.", verdict("result", turn="fixed"))]
    assert brief(read(told)) == [("replace", "inlet valve", "untested")]


def test_two_parts_with_no_run_between_were_changed_together() -> None:
    attempts = read(
        [action("Put in a new door latch."), action("And replaced the control board."), result("Runs right through.", "fixed")]
    )
    assert brief(attempts) == [("replace", "door latch", "fixed"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(2,), (1,)]
    assert judge_outcome(attempts) == (Outcome.FIXED, 1)


def test_two_parts_in_one_breath() -> None:
    attempts = read([action("Replaced the door latch and the control board."), result("Same thing.", "no_change")])
    assert brief(attempts) == [("replace", "door latch", "no_change"), ("replace", "control board", "no_change")]
    assert attempts[0].together_with == (2,)


def test_a_part_that_comes_along_is_no_attempt() -> None:
    attempts = read([action("Replaced the heating element with a new gasket."), result("Heats now.", "fixed")])
    assert brief(attempts) == [("replace", "heating element", "fixed")]


def test_it_held_and_came_back() -> None:
    attempts = read(
        [
            action("Cleaned the drain filter."),
            result("Pumped out fine.", "fixed"),
            result("Two weeks later she called, same complaint.", "came_back"),
        ]
    )
    assert brief(attempts) == [("clean", "drain filter", "came_back")]
    assert judge_outcome(attempts) == (Outcome.CAME_BACK, None)


def test_the_work_of_somebody_else_comes_first_and_changed_nothing() -> None:
    attempts = read(
        [
            action("I replaced the control board."),
            result("It runs.", "fixed"),
            action("Her brother already put a new door latch in last week.", by="other"),
        ]
    )
    assert [(a.component, a.by, a.result) for a in attempts] == [
        ("door latch", By.OTHER, Result.NO_CHANGE),
        ("control board", By.US, Result.FIXED),
    ]


def test_spoken_of_again_is_not_done_again() -> None:
    attempts = read(
        [
            action("I put a new latch in."),
            result("Same beeps.", "no_change"),
            action("So the new latch is in and I replaced the latch for nothing."),
        ]
    )
    assert brief(attempts) == [("replace", "door latch", "no_change")]


def test_what_is_intended_is_no_attempt() -> None:
    told = [("I'm going to have to order a new control board.", verdict("aside", attempt=0.3))]
    assert read(told) == ()


def test_getting_at_something_is_no_attempt() -> None:
    assert read([action("Moved the drain hose to get at the pump.")]) == ()


def test_the_complaint_told_again_after_work_says_no_change() -> None:
    attempts = read(
        [
            ("The panel beeps three times.", verdict("symptom")),
            action("Reset the control board at the breaker."),
            ("Pressed start, three beeps.", verdict("symptom")),
        ]
    )
    assert brief(attempts) == [("reset", "control board", "no_change")]


def test_no_attempts_leave_the_job_untested_and_failures_leave_it_not_fixed() -> None:
    assert judge_outcome(()) == (Outcome.UNTESTED, None)
    failed = read([action("Put a new latch in."), result("Same thing.", "no_change")])
    assert judge_outcome(failed) == (Outcome.NOT_FIXED, None)


def test_a_short_word_means_what_was_spoken_of_before() -> None:
    attempts = read(
        [("The display board has a burn mark.", verdict("check")), action("Swapped the board."), result("It works.", "fixed")]
    )
    assert brief(attempts) == [("replace", "display board", "fixed")]


def test_a_part_that_the_lexicon_has_never_heard_of() -> None:
    attempts = read([action("Replaced the frobnicator."), result("It works.", "fixed")])
    assert brief(attempts) == [("replace", "frobnicator", "fixed")]
    assert attempts[0].operation is Operation.REPLACE
