"""The choice of what shows how work turned out, with weights made by hand."""

import numpy as np
import pytest
from made_heads import DIM, zero_heads

from kbindex.reading.heads import Heads
from kbindex.reading.result_choice import TrainedChoice
from kbindex.reading.signs import SIGN_COUNT, TURNS
from kbindex.records import Result

FIXED, NO_CHANGE = TURNS.index("fixed"), TURNS.index("no_change")


def choosing(tensors: dict[str, np.ndarray], *rows: list[float], silent: tuple[int, ...] = ()) -> TrainedChoice:
    wide = np.array([[*row, *[0.0] * SIGN_COUNT] for row in rows], dtype=np.float32)
    return TrainedChoice(Heads(tensors), wide, silent)


def told() -> dict[str, np.ndarray]:
    """A state's first figure says that it was fixed, its second that nothing changed; the third calls for attention."""
    tensors = zero_heads()
    tensors["turn.weight"][FIXED, 0] = tensors["turn.weight"][NO_CHANGE, 1] = 20.0
    tensors["result.key.weight"][0, 2] = 80.0
    tensors["result.query.bias"][0] = 1.0  # 80 / sqrt(64) = 10 for what calls for attention
    return tensors


def test_the_sentence_that_calls_for_attention_tells_the_result() -> None:
    choice = choosing(told(), [0.0] * DIM, [0, 1, 0, 0], [1, 0, 1, 0])
    shown = choice.choose(0, [0])
    assert (shown.result, shown.sentence) == (Result.FIXED, 2)
    assert shown.chance > 0.99


def test_what_comes_before_the_work_is_not_its_result() -> None:
    shown = choosing(told(), [1, 0, 1, 0], [0.0] * DIM, [0, 1, 0.5, 0]).choose(1, [1])
    assert (shown.result, shown.sentence) == (Result.NO_CHANGE, 2)


def test_nothing_shown_is_untested() -> None:
    tensors = told()
    tensors["result.nothing.bias"][0] = 30.0
    shown = choosing(tensors, [0.0] * DIM, [1, 0, 1, 0]).choose(0, [0])
    assert (shown.result, shown.sentence) == (Result.UNTESTED, None)


def test_a_sentence_that_says_that_nothing_was_run_leaves_it_untested() -> None:
    tensors = told()
    tensors["turn.weight"][0, 3] = 20.0
    shown = choosing(tensors, [0.0] * DIM, [0, 0, 1, 1]).choose(0, [0])
    assert (shown.result, shown.sentence) == (Result.UNTESTED, None)


def test_silent_sentences_show_nothing() -> None:
    shown = choosing(told(), [0.0] * DIM, [1, 0, 1, 0], [0, 1, 0, 0], silent=(1,)).choose(0, [0])
    assert shown.sentence != 1
    assert choosing(told(), [0.0] * DIM, silent=(0,)).choose(0, [0]).sentence is None


def test_chances_of_all_ends_add_up() -> None:
    """Undecided weights share the chance evenly: half to nothing, and of the other half one in six to each result."""
    shown = choosing(zero_heads(), [0.0] * DIM).choose(0, [0])
    assert shown.chance == pytest.approx(1 / 2 + 1 / 2 / len(TURNS))
