"""The heads' arithmetic, with weights made by hand."""

import numpy as np
import pytest
from made_heads import DIM, zero_heads

from kbindex.reading.catalogue import Catalogue
from kbindex.reading.heads import Heads
from kbindex.reading.kinds import Judged, Seen, Talk, Verdicts, find_openings, judge
from kbindex.reading.lexicon import Mention, load_lexicon
from kbindex.reading.signs import SIGN_COUNT
from kbindex.reading.states import SentenceStates
from kbindex.records import Kind, Operation


def seen(*rows: list[float]) -> Seen:
    states = [SentenceStates(np.array([row], dtype=np.float32), [(0, 5)]) for row in rows]
    return Seen(states, np.array([[*row, *[0.0] * SIGN_COUNT] for row in rows], dtype=np.float32))


def judged_of(tensors: dict[str, np.ndarray], rows: list[list[float]], *mentions: list[Mention]) -> Verdicts:
    heads = Heads(tensors)
    talk = Talk(["Words."] * len(rows), None, list(mentions) or [[]] * len(rows))
    return judge(seen(*rows), talk, heads, Catalogue(heads, load_lexicon()))


def test_heads_are_linear_and_softmax_or_logistic() -> None:
    tensors = zero_heads()
    tensors["kind.weight"][list(Kind).index(Kind.RESULT), 0] = 2.0
    tensors["attempt.weight"][0, 1] = 3.0
    (first,) = judged_of(tensors, [[1.0, 1.0, 0, 0]]).judged
    assert first.kind is Kind.RESULT
    assert first.chances["kind"]["result"] == pytest.approx(np.exp(2) / (np.exp(2) + len(Kind) - 1), rel=1e-5)
    assert first.attempt == pytest.approx(1 / (1 + np.exp(-3)), rel=1e-5)
    assert first.components == ()


def test_the_pointer_prefers_what_its_projections_and_its_place_say() -> None:
    tensors = zero_heads()
    tensors["point.attempt.query.weight"][0, 0] = tensors["point.attempt.key.weight"][0, 1] = 8.0
    tensors["operation.component.weight"][list(Operation).index(Operation.CLEAN), 1] = 1.0
    mentions = [[Mention("door latch", 0, 5)], [Mention("fuse", 0, 5)], []]
    verdicts = judged_of(tensors, [[0, 1.0, 0, 0], [0, -1.0, 0, 0], [1.0, 0, 0, 0]], *mentions)
    best, other = verdicts.judged[2].components
    assert (best.component, best.own, best.operation) == ("door latch", False, Operation.CLEAN)
    assert best.chance == pytest.approx(1 / (1 + np.exp(-8.0)), rel=1e-5)  # 8 * 8 / sqrt(64)
    assert other.chance < 0.01


def test_components_are_looked_for_only_where_work_is_possible() -> None:
    tensors = zero_heads()
    tensors["attempt.bias"][0] = -3.0
    (first,) = judged_of(tensors, [[0.0] * DIM], [Mention("fuse", 0, 5)]).judged
    assert (first.components, first.listed) == ((), {})


def test_what_is_known_from_outside_puts_the_heads_right() -> None:
    heads = Heads(zero_heads())

    def correct(number: int, one: Judged) -> Judged:
        assert number == 0
        return Judged({**one.chances, "turn": {name: float(name == "none") for name in one.chances["turn"]}})

    verdicts = judge(seen([0.0] * DIM), Talk(["Words."], None, [[]]), heads, Catalogue(heads, load_lexicon()), correct)
    assert verdicts.judged[0].chances["turn"]["none"] == 1.0
    assert verdicts.choice.choose(0, [0]).sentence is None


def test_openings_are_chances() -> None:
    tensors = zero_heads()
    tensors["opens.weight"][0, 3] = -50.0
    assert find_openings(seen([0, 0, 0, 1.0], [0, 0, 0, 0]), Heads(tensors)) == pytest.approx([0.0, 0.5], abs=1e-6)


def test_words_of_a_sentence_are_averaged_by_their_characters() -> None:
    states = SentenceStates(np.array([[1, 0], [3, 0], [8, 0]], dtype=np.float32), [(0, 3), (4, 9), (10, 12)])
    assert states.mean_of(4, 12).tolist() == [5.5, 0]
    assert states.mean_of(20, 30).tolist() == [1, 0]
    assert states.mean().tolist() == [4, 0]
