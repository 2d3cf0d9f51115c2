"""The list of parts ranked for a sentence, with weights made by hand."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from made_heads import DIM, PARTS, zero_heads

from kbindex.reading.catalogue import CATALOGUE_DIM, PART_SIGNS, UNLISTED, Catalogue, PartWords, Sought
from kbindex.reading.heads import Heads
from kbindex.reading.lexicon import load_lexicon


def test_signs_of_parts() -> None:
    rows = PartWords(PARTS, load_lexicon()).describe(
        "New htng elements and a pump.", "dishwasher", {"door latch"}, {"drain pump"}
    )
    assert rows.shape == (len(PARTS), PART_SIGNS)
    assert rows[:, 0].tolist() == [1, 1, 1]  # a dishwasher has all three
    assert rows[:, 1].tolist() == [1, 0, 0]
    assert rows[:, 2].tolist() == [0, 1, 0]
    assert rows[:, 3].tolist() == [0, 0.5, 0.5 + 0.5]  # words without vowels are written out
    assert rows[:, 4].tolist() == [0, 1, 1]
    elsewhere = PartWords(PARTS, load_lexicon()).describe("", "vacuum", (), ())
    assert elsewhere[:, 0].tolist() == [0, 0, 0]


def sought(words: Sequence[Sequence[Sequence[float]]] = ([[0.0] * DIM],), **known: object) -> Sought:
    """A sentence of ones; `words` are the states of its tokens and of those before it."""
    states = [np.array(one, dtype=np.float32) for one in words]
    one = Sought(np.ones(DIM, dtype=np.float32), states, "That lad.", None, (), (), {})
    return replace(one, **known)


def rank(tensors: dict[str, np.ndarray], one: Sought) -> dict[str, float]:
    return Catalogue(Heads(tensors), load_lexicon()).rank(one)


def test_parts_are_ranked_by_likeness_and_by_signs() -> None:
    tensors = zero_heads()
    tensors["catalogue.query.weight"][0, 0] = 1.0
    tensors["catalogue.key"][1, 0] = np.sqrt(CATALOGUE_DIM) * 2
    ranked = rank(tensors, sought())
    assert next(iter(ranked.items())) == ("drain pump", pytest.approx(np.exp(2) / (np.exp(2) + 3), rel=1e-5))  # and no part
    tensors["catalogue.signs.weight"][0, 1] = 9.0
    assert next(iter(rank(tensors, sought(own={"door latch"})))) == "door latch"


def test_one_word_is_enough_and_near_words_count_more() -> None:
    tensors = zero_heads()
    tensors["catalogue.word.weight"][0, 0] = tensors["catalogue.word.weight"][1, 1] = 1.0
    tensors["catalogue.key"][1, 0] = tensors["catalogue.key"][2, 1] = np.sqrt(CATALOGUE_DIM) * 5
    tensors["catalogue.near.weight"][:, 0] = [0, -2, -4, -6, -8]
    first, second, nothing = [1.0, 0, 0, 0], [0, 1.0, 0, 0], [0.0] * DIM
    assert next(iter(rank(tensors, sought([[nothing] * 9 + [second]])))) == "heating element"
    ranked = rank(tensors, sought([[nothing], [second], [first]]))
    assert list(ranked)[:2] == ["heating element", "drain pump"]


def test_what_is_pointed_at_by_name_is_weighed_in() -> None:
    tensors = zero_heads()
    tensors["catalogue.pointed.weight"][0, 0] = 1.0
    ranked = rank(tensors, sought(pointed={"heating element": 3.0, "door latch": -3.0, "no part of the list": 9.0}))
    assert next(iter(ranked.items())) == ("heating element", pytest.approx(np.exp(3) / (np.exp(3) + np.exp(-3) + 2), rel=1e-5))


def test_none_of_the_list_is_an_answer_too() -> None:
    tensors = zero_heads()
    tensors["catalogue.unlisted.bias"][0] = 4.0
    assert next(iter(rank(tensors, sought()))) == UNLISTED
