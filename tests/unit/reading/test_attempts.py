"""Events and the state machine over them, with verdicts made by hand."""

from collections.abc import Sequence

from made import Told, action, result, sentence, verdict

from kbindex.reading.attempts import Links, judge_outcome, read_attempts
from kbindex.reading.events import find_events
from kbindex.reading.kinds import Pointed
from kbindex.reading.lexicon import load_lexicon
from kbindex.records import Attempt, By, Operation, Outcome, Result


def read(told: Told, links: Links | None = None) -> tuple[Attempt, ...]:
    sentences = [sentence(text, number) for number, (text, _) in enumerate(told)]
    events = find_events(sentences, [judged for _, judged in told], load_lexicon())
    return read_attempts(events, sentences, links)


def brief(attempts: tuple[Attempt, ...]) -> list[tuple[str, str, str]]:
    return [(a.operation.value, a.component, a.result.value) for a in attempts]


class Pointing:
    """Links that point from results (by sentence) at the work of given sentences."""

    def __init__(self, aims: dict[int, Sequence[int]]) -> None:
        self._aims = aims

    def chances(self, place: int, works: Sequence[int]) -> list[float]:
        return [0.9 if work in self._aims.get(place, ()) else 0.1 for work in works]


def test_a_first_fix_fails_and_a_second_works() -> None:
    attempts = read(
        [
            ("It just beeps three times and sits there.", verdict("symptom")),
            action("So I put a new latch in it.", "door latch"),
            result("Nope, same three beeps.", "no_change"),
            action("Then I swapped the control board.", "control board"),
            result("And away it goes, filling up.", "fixed"),
        ]
    )
    assert brief(attempts) == [("replace", "door latch", "no_change"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(), ()]
    assert (attempts[1].at.start_s, attempts[1].result_at and attempts[1].result_at.start_s) == (30.0, 40.0)
    assert judge_outcome(attempts) == (Outcome.FIXED, 2)


def test_part_in_and_nothing_run_is_untested() -> None:
    attempts = read([action("I fitted a new drain pump.", "drain pump"), ("Button it up, thanks for watching.", verdict())])
    assert brief(attempts) == [("replace", "drain pump", "untested")]
    assert attempts[0].result_at is None
    assert judge_outcome(attempts) == (Outcome.UNTESTED, None)


def test_he_says_that_he_has_not_run_it() -> None:
    told = [
        action("I fitted a new inlet valve.", "inlet valve"),
        ("I have not seen it fill yet.", verdict("result", turn="fixed")),
    ]
    assert brief(read(told)) == [("replace", "inlet valve", "untested")]


def test_a_result_that_points_at_two_parts_says_that_they_were_changed_together() -> None:
    told = [
        action("Put in a new door latch.", "door latch"),
        action("And replaced the control board.", "control board"),
        result("Runs right through.", "fixed"),
    ]
    attempts = read(told, Pointing({2: (0, 1)}))
    assert brief(attempts) == [("replace", "door latch", "fixed"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(2,), (1,)]
    assert judge_outcome(attempts) == (Outcome.FIXED, 1)


def test_two_parts_in_one_breath() -> None:
    told = [
        action("Replaced the door latch and the control board.", "door latch", "control board"),
        result("Same.", "no_change"),
    ]
    attempts = read(told)
    assert {a.component: (a.result, len(a.together_with)) for a in attempts} == {
        "door latch": (Result.NO_CHANGE, 1),
        "control board": (Result.NO_CHANGE, 1),
    }


def test_a_result_may_speak_of_work_before_the_latest() -> None:
    told = [
        action("New latch.", "door latch"),
        action("The board got a new relay.", "control board", operation="repair"),
        result("The latch alone had changed nothing.", "no_change"),
        result("With the relay it runs.", "fixed"),
    ]
    attempts = read(told, Pointing({2: (0,), 3: (1,)}))
    assert brief(attempts) == [("replace", "door latch", "no_change"), ("repair", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(), ()]


def test_it_held_and_came_back() -> None:
    attempts = read(
        [
            action("Cleaned the drain filter.", "drain filter", operation="clean"),
            result("Pumped out fine.", "fixed"),
            result("Two weeks later she called, same complaint.", "came_back"),
        ]
    )
    assert brief(attempts) == [("clean", "drain filter", "came_back")]
    assert judge_outcome(attempts) == (Outcome.CAME_BACK, None)


def test_the_work_of_somebody_else_comes_first_and_changed_nothing() -> None:
    attempts = read(
        [
            action("I replaced the control board.", "control board"),
            result("It runs.", "fixed"),
            action("Her brother already put a new door latch in last week.", "door latch", by="other"),
        ]
    )
    assert [(a.component, a.by, a.result) for a in attempts] == [
        ("door latch", By.OTHER, Result.NO_CHANGE),
        ("control board", By.US, Result.FIXED),
    ]


def test_spoken_of_again_is_not_done_again() -> None:
    attempts = read(
        [
            action("I put a new latch in.", "door latch"),
            result("Same beeps.", "no_change"),
            action("So the new latch is in and I replaced the latch for nothing.", "door latch"),
        ]
    )
    assert brief(attempts) == [("replace", "door latch", "no_change")]


def test_what_is_unlikely_to_be_an_attempt_is_none() -> None:
    assert read([action("I'm going to have to order a new control board.", "control board", attempt=0.3)]) == ()


def test_no_attempts_leave_the_job_untested_and_failures_leave_it_not_fixed() -> None:
    assert judge_outcome(()) == (Outcome.UNTESTED, None)
    failed = read([action("Put a new latch in.", "door latch"), result("Same thing.", "no_change")])
    assert judge_outcome(failed) == (Outcome.NOT_FIXED, None)


def test_a_component_named_before_is_taken_where_it_is_the_likeliest() -> None:
    text, judged = action("Popped it out and put a new one in.")
    named = (Pointed("float switch", 0, False, 0.3, Operation.REPLACE), Pointed("door latch", 0, False, 0.1, Operation.CLEAN))
    judged = type(judged)(judged.chances, None, named)
    assert brief(read([(text, judged)])) == [("replace", "float switch", "untested")]


def test_a_part_that_the_lexicon_has_never_heard_of() -> None:
    attempts = read([action("Replaced the frobnicator."), result("It works.", "fixed")])
    assert brief(attempts) == [("replace", "frobnicator", "fixed")]
    assert attempts[0].operation is Operation.REPLACE


def test_power_off_and_on_resets_the_board() -> None:
    assert brief(read([action("Reset it at the breaker.", operation="reset")])) == [("reset", "control board", "untested")]
