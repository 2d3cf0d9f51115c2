"""Work into attempts, with verdicts and choices made by hand."""

from collections.abc import Mapping, Sequence

from made import Told, action, result, sentence, verdict
from made_heads import zero_heads

from kbindex.reading.attempts import judge_outcome, read_attempts
from kbindex.reading.confidence import Trust
from kbindex.reading.events import find_work
from kbindex.reading.heads import Heads
from kbindex.reading.kinds import Judged, Pointed
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.result_choice import NOTHING_SHOWN, Shown
from kbindex.records import Attempt, By, Operation, Outcome, Result


class Choosing:
    """Chooses for the work told in a sentence what is written down for it."""

    def __init__(self, shown: Mapping[int, tuple[str, int]]) -> None:
        self._shown = {work: Shown(Result(result), place, 0.9) for work, (result, place) in shown.items()}

    def choose(self, work: int, works: Sequence[int]) -> Shown:
        assert work in works
        return self._shown.get(work, NOTHING_SHOWN)


def read(told: Told, shown: Mapping[int, tuple[str, int]] | None = None) -> tuple[Attempt, ...]:
    """Read sentences; `shown` says for the work in a sentence what its result is, and which sentence shows it."""
    sentences = [sentence(text, number) for number, (text, _) in enumerate(told)]
    works = find_work(sentences, [judged for _, judged in told], load_lexicon())
    return read_attempts(works, sentences, Choosing(shown or {}), Trust(Heads(zero_heads())))


def brief(attempts: tuple[Attempt, ...]) -> list[tuple[str, str, str]]:
    return [(a.operation.value, a.component, a.result.value) for a in attempts]


def test_a_first_fix_fails_and_a_second_works() -> None:
    attempts = read(
        [
            ("It just beeps three times and sits there.", verdict("symptom")),
            action("So I put a new latch in it.", "door latch"),
            result("Nope, same three beeps.", "no_change"),
            action("Then I swapped the control board.", "control board"),
            result("And away it goes, filling up.", "fixed"),
        ],
        {1: ("no_change", 2), 3: ("fixed", 4)},
    )
    assert brief(attempts) == [("replace", "door latch", "no_change"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(), ()]
    assert (attempts[1].at.start_s, attempts[1].result_at and attempts[1].result_at.start_s) == (30.0, 40.0)
    assert attempts[1].result_text == "And away it goes, filling up."
    assert judge_outcome(attempts) == (Outcome.FIXED, 2)


def test_part_in_and_nothing_run_is_untested() -> None:
    attempts = read([action("I fitted a new drain pump.", "drain pump"), ("Button it up, thanks for watching.", verdict())])
    assert brief(attempts) == [("replace", "drain pump", "untested")]
    assert attempts[0].result_at is None
    assert judge_outcome(attempts) == (Outcome.UNTESTED, None)


def test_a_result_shown_for_two_parts_says_that_they_were_changed_together() -> None:
    told = [
        action("Put in a new door latch.", "door latch"),
        action("And replaced the control board.", "control board"),
        result("Runs right through.", "fixed"),
    ]
    attempts = read(told, {0: ("fixed", 2), 1: ("fixed", 2)})
    assert brief(attempts) == [("replace", "door latch", "fixed"), ("replace", "control board", "fixed")]
    assert [a.together_with for a in attempts] == [(2,), (1,)]
    assert judge_outcome(attempts) == (Outcome.FIXED, 1)


def test_two_parts_in_one_breath() -> None:
    told = [
        action("Replaced the door latch and the control board.", "door latch", "control board"),
        result("Same.", "no_change"),
    ]
    attempts = read(told, {0: ("no_change", 1)})
    assert {a.component: (a.result, len(a.together_with)) for a in attempts} == {
        "door latch": (Result.NO_CHANGE, 1),
        "control board": (Result.NO_CHANGE, 1),
    }


def test_parts_never_tested_were_changed_together_when_told_in_one_breath() -> None:
    attempts = read([action("New belt.", "drive belt"), action("A new pulley as well.", "idler pulley")])
    assert [a.together_with for a in attempts] == [(2,), (1,)]
    apart = read([action("New belt.", "drive belt"), action("New pulley.", "idler pulley")])
    assert [a.together_with for a in apart] == [(), ()]


def test_it_held_and_came_back() -> None:
    attempts = read(
        [
            action("Cleaned the drain filter.", "drain filter", operation="clean"),
            result("Pumped out fine.", "fixed"),
            result("Two weeks later she called, same complaint.", "came_back"),
        ],
        {0: ("came_back", 2)},
    )
    assert brief(attempts) == [("clean", "drain filter", "came_back")]
    assert judge_outcome(attempts) == (Outcome.CAME_BACK, None)


def test_the_work_of_somebody_else_comes_first_and_changed_nothing() -> None:
    attempts = read(
        [
            action("I replaced the control board.", "control board"),
            result("It runs.", "fixed"),
            action("Her brother already put a new door latch in last week.", "door latch", by="other"),
        ],
        {0: ("fixed", 1)},
    )
    assert [(a.component, a.by, a.result, a.result_at) for a in attempts if a.by is By.OTHER] == [
        ("door latch", By.OTHER, Result.NO_CHANGE, None)
    ]
    assert [(a.component, a.order, a.result) for a in attempts] == [
        ("door latch", 1, Result.NO_CHANGE),
        ("control board", 2, Result.FIXED),
    ]


def test_what_two_people_did_was_not_done_together() -> None:
    told = [
        action("He had put in a new door latch.", "door latch", by="other"),
        action("I replaced the control board.", "control board"),
        result("Still dead.", "no_change"),
    ]
    assert [a.together_with for a in read(told, {0: ("no_change", 2), 1: ("no_change", 2)})] == [(), ()]


def test_spoken_of_again_is_not_done_again() -> None:
    attempts = read(
        [
            action("I put a new latch in.", "door latch"),
            result("Same beeps.", "no_change"),
            action("So the new latch is in and I replaced the latch for nothing.", "door latch"),
        ],
        {0: ("no_change", 1)},
    )
    assert brief(attempts) == [("replace", "door latch", "no_change")]


def test_what_is_unlikely_to_be_an_attempt_is_none() -> None:
    assert read([action("I'm going to have to order a new control board.", "control board", attempt=0.3)]) == ()


def test_no_attempts_leave_the_job_untested_and_failures_leave_it_not_fixed() -> None:
    assert judge_outcome(()) == (Outcome.UNTESTED, None)
    told = [action("Put a new latch in.", "door latch"), result("Same thing.", "no_change")]
    assert judge_outcome(read(told, {0: ("no_change", 1)})) == (Outcome.NOT_FIXED, None)


def test_what_was_tried_in_vain_after_a_cure_had_come_back_leaves_the_job_not_fixed() -> None:
    told = [action("Put a new latch in.", "door latch"), result("Same code again since Monday.", "came_back")]
    further = [action("Then a new control board.", "control board"), result("Same thing.", "no_change")]
    shown = {0: ("came_back", 1), 2: ("no_change", 3)}
    assert judge_outcome(read(told, shown)) == (Outcome.CAME_BACK, None)
    assert judge_outcome(read([*told, *further], shown)) == (Outcome.NOT_FIXED, None)


def _pointing(text: str, *named: Pointed, listed: Mapping[str, float] | None = None) -> tuple[str, Judged]:
    _, judged = action(text)
    return text, Judged(judged.chances, None, named, listed or {})


def test_a_component_named_before_is_taken_where_it_is_the_likeliest() -> None:
    named = (Pointed("float switch", 0, False, 0.3, Operation.REPLACE), Pointed("door latch", 0, False, 0.1, Operation.CLEAN))
    assert brief(read([_pointing("Popped it out and put a new one in.", *named)])) == [("replace", "float switch", "untested")]


def test_a_part_that_no_name_points_at_is_taken_from_the_list() -> None:
    unlikely = Pointed("door latch", 0, False, 0.05, Operation.REPLACE)
    told = _pointing("The little heart of the thing came out and a new one went in.", unlikely, listed={"drain pump": 0.8})
    assert brief(read([told])) == [("replace", "drain pump", "untested")]


def test_a_part_that_the_lexicon_has_never_heard_of() -> None:
    attempts = read([action("Replaced the frobnicator."), result("It works.", "fixed")], {0: ("fixed", 1)})
    assert brief(attempts) == [("replace", "frobnicator", "fixed")]
    assert attempts[0].operation is Operation.REPLACE


def test_power_off_and_on_resets_the_board() -> None:
    assert brief(read([action("Reset it at the breaker.", operation="reset")])) == [("reset", "control board", "untested")]
