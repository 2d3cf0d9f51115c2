"""The list of parts ranked for a sentence, with weights made by hand."""

import numpy as np
import pytest
from made_heads import DIM, PARTS, zero_heads

from kbindex.reading.catalogue import CATALOGUE_DIM, PART_SIGNS, Catalogue, PartWords
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


def test_parts_are_ranked_by_likeness_and_by_signs() -> None:
    tensors = zero_heads()
    tensors["catalogue.query.weight"][0, 0] = 1.0
    tensors["catalogue.key"][1, 0] = np.sqrt(CATALOGUE_DIM) * 2
    catalogue = Catalogue(Heads(tensors), load_lexicon())
    ranked = catalogue.rank(np.array([1.0] * DIM), "That lad.", None, (), ())
    assert next(iter(ranked.items())) == ("drain pump", pytest.approx(np.exp(2) / (np.exp(2) + 2), rel=1e-5))
    tensors["catalogue.signs.weight"][0, 1] = 9.0
    named = Catalogue(Heads(tensors), load_lexicon()).rank(np.array([1.0] * DIM), "That lad.", None, {"door latch"}, ())
    assert next(iter(named)) == "door latch"
