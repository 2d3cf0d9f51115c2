"""What an amount is of, with weights made by hand."""

import numpy as np
import pytest
from made_heads import DIM, zero_heads

from kbindex.reading.amount_links import VALUE_SIGNS, TrainedLinks, describe_value
from kbindex.reading.amounts import Money
from kbindex.reading.heads import Heads
from kbindex.reading.lexicon import Mention
from kbindex.reading.states import SentenceStates


def links(tensors: dict[str, np.ndarray], mentions: list[Mention]) -> TrainedLinks:
    """One sentence of two words: the first is a figure, the second names a part."""
    states = [SentenceStates(np.array([[1, 0, 0, 0], [0, 1, 0, 0]], dtype=np.float32), [(0, 2), (3, 8)])]
    return TrainedLinks(Heads(tensors), states, [mentions], lambda place, scores: {**scores, "": 0.25})


def test_chances_of_components_by_projections() -> None:
    tensors = zero_heads()
    tensors["point.price.query.weight"][0, 0] = tensors["point.price.key.weight"][0, 1] = 8.0
    found = links(tensors, [Mention("fuse", 0, 2), Mention("door latch", 3, 8)]).of_price(0, 0, 2)
    assert found.chances == {"fuse": 0.5, "door latch": pytest.approx(1 / (1 + np.exp(-8.0)))}
    assert links(tensors, []).of_share(0, 0, 2).chances == {}


def test_the_likeliest_part_of_the_list_knows_what_is_pointed_at() -> None:
    tensors = zero_heads()
    tensors["point.price.query.weight"][0, 0] = tensors["point.price.key.weight"][0, 1] = 8.0
    pointed = links(tensors, [Mention("door latch", 3, 8)]).of_price(0, 0, 2)
    assert (pointed.part, pointed.part_chance, pointed.sure_part) == ("door latch", 8.0, "door latch")
    nothing = links(tensors, []).of_share(0, 0, 2)
    assert (nothing.part, nothing.part_chance, nothing.sure_part) == (None, 0.25, None)


def test_a_number_is_a_price_by_its_words_and_its_form() -> None:
    tensors = zero_heads()
    tensors["is_price.weight"][0, 0] = 1.0
    tensors["is_price.weight"][0, 2 * DIM + 5] = 2.0  # it has a currency
    likely = links(tensors, []).is_price(0, Money(40.0, "USD", 0, 2), True)
    assert likely == pytest.approx(1 / (1 + np.exp(-3.0)))
    assert links(tensors, []).is_price(0, Money(40.0, "USD", 3, 8), False) == pytest.approx(0.5)


def test_signs_of_a_value() -> None:
    assert describe_value(38.5, False).tolist() == [0, 0, 1, 0, 0, 0, 1, 1]
    assert describe_value(2.0, True).shape == (VALUE_SIGNS,)
