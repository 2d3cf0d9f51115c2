"""The heads' arithmetic, with weights made by hand."""

import numpy as np
import pytest

from kbindex.reading.kinds import HEADS, Heads, Seen, find_openings, judge
from kbindex.reading.lexicon import Mention
from kbindex.reading.pointers import CANDIDATE_SIGNS, POINTER_DIM, WORK_SIGNS
from kbindex.reading.signs import SIGN_COUNT, TAGS
from kbindex.reading.states import SentenceStates
from kbindex.records import Kind, Operation

DIM = 4


def zero_heads() -> dict[str, np.ndarray]:
    """Weights of nothing: every head is undecided."""
    width = DIM + SIGN_COUNT
    sizes = {name: (1 if len(classes) == 2 else len(classes), width) for name, classes in HEADS.items()}
    sizes |= {"tag": (len(TAGS), width), "opens": (1, width), "operation.component": (len(Operation), DIM)}
    for pointer, signs in (("attempt", CANDIDATE_SIGNS), ("result", WORK_SIGNS)):
        sizes |= {f"point.{pointer}.query": (POINTER_DIM, DIM), f"point.{pointer}.key": (POINTER_DIM, DIM)}
        sizes[f"point.{pointer}.place"] = (1, signs)
    tensors = {f"{name}.weight": np.zeros(size, dtype=np.float32) for name, size in sizes.items()}
    return tensors | {f"{name}.bias": np.zeros(size[0], dtype=np.float32) for name, size in sizes.items()}


def seen(*rows: list[float]) -> Seen:
    states = [SentenceStates(np.array([row], dtype=np.float32), [(0, 5)]) for row in rows]
    return Seen(states, np.array([[*row, *[0.0] * SIGN_COUNT] for row in rows], dtype=np.float32))


def test_heads_are_linear_and_softmax_or_logistic() -> None:
    tensors = zero_heads()
    tensors["kind.weight"][list(Kind).index(Kind.RESULT), 0] = 2.0
    tensors["attempt.weight"][0, 1] = 3.0
    (first,) = judge(seen([1.0, 1.0, 0, 0]), [[]], Heads(tensors)).judged
    assert first.kind is Kind.RESULT
    assert first.chances["kind"]["result"] == pytest.approx(np.exp(2) / (np.exp(2) + len(Kind) - 1), rel=1e-5)
    assert first.attempt == pytest.approx(1 / (1 + np.exp(-3)), rel=1e-5)
    assert first.components == ()


def test_the_pointer_prefers_what_its_projections_and_its_place_say() -> None:
    tensors = zero_heads()
    tensors["point.attempt.query.weight"][0, 0] = tensors["point.attempt.key.weight"][0, 1] = 8.0
    tensors["operation.component.weight"][list(Operation).index(Operation.CLEAN), 1] = 1.0
    mentions = [[Mention("door latch", 0, 5)], [Mention("fuse", 0, 5)], []]
    verdicts = judge(seen([0, 1.0, 0, 0], [0, -1.0, 0, 0], [1.0, 0, 0, 0]), mentions, Heads(tensors))
    best, other = verdicts.judged[2].components
    assert (best.component, best.own, best.operation) == ("door latch", False, Operation.CLEAN)
    assert best.chance == pytest.approx(1 / (1 + np.exp(-8.0)), rel=1e-5)  # 8 * 8 / sqrt(64)
    assert other.chance < 0.01


def test_links_point_from_results_to_work() -> None:
    tensors = zero_heads()
    tensors["point.result.place.weight"][0, 1] = 4.0  # told one sentence before
    links = judge(seen(*[[0.0] * DIM] * 3), [[], [], []], Heads(tensors)).links
    assert links is not None
    assert links.chances(2, [0, 1]) == pytest.approx([0.5, 1 / (1 + np.exp(-4))], rel=1e-5)


def test_openings_are_chances() -> None:
    tensors = zero_heads()
    tensors["opens.weight"][0, 3] = -50.0
    assert find_openings(seen([0, 0, 0, 1.0], [0, 0, 0, 0]), Heads(tensors)) == pytest.approx([0.0, 0.5], abs=1e-6)


def test_words_of_a_sentence_are_averaged_by_their_characters() -> None:
    states = SentenceStates(np.array([[1, 0], [3, 0], [8, 0]], dtype=np.float32), [(0, 3), (4, 9), (10, 12)])
    assert states.mean_of(4, 12).tolist() == [5.5, 0]
    assert states.mean_of(20, 30).tolist() == [1, 0]
    assert states.mean().tolist() == [4, 0]
