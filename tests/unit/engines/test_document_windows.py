"""How long documents go through the encoder: windows that overlap, every piece kept once from where it has context."""

import numpy as np
import pytest

from kbindex.engines.document_encoder import windows


@pytest.mark.parametrize("seed", range(20))
def test_every_piece_is_kept_and_no_window_is_too_long(seed: int) -> None:
    chance = np.random.default_rng(seed)
    lengths = chance.integers(1, 60, size=int(chance.integers(1, 400))).tolist()
    kept_by = [0] * len(lengths)
    before = -1
    for first, last, kept in windows(lengths):
        assert first <= kept < last
        assert first > before
        assert sum(lengths[first:last]) <= 318 or last == first + 1
        before = first
        for number in range(kept, last):
            kept_by[number] += 1
    assert min(kept_by) >= 1


def test_a_piece_longer_than_a_window_stands_alone_and_nothing_gives_nothing() -> None:
    assert list(windows([500, 500]))[0][:2] == (0, 1)
    assert list(windows([])) == []


def test_a_short_document_is_one_window_and_a_long_one_shares_its_edges() -> None:
    assert list(windows([20] * 10)) == [(0, 10, 0)]
    (_, end, _), (first, _, kept), *_ = windows([20] * 40)
    assert first < kept < end
