"""How sure an attempt is, with weights made by hand."""

import numpy as np
import pytest
from made_heads import zero_heads

from kbindex.reading.confidence import Trust, describe_trust
from kbindex.reading.events import Work
from kbindex.reading.heads import Heads
from kbindex.reading.result_choice import NOTHING_SHOWN, Shown
from kbindex.records import By, Operation, Result


def work(chance: float, component_chance: float) -> Work:
    return Work(0, Operation.REPLACE, "door latch", By.US, chance, component_chance)


def test_log_odds_are_weighed() -> None:
    tensors = zero_heads()
    tensors["trust.weight"][0] = [1.0, 0.5, 0.0]
    tensors["trust.bias"][0] = -1.0
    sure = Trust(Heads(tensors)).of(work(0.9, 0.8), Shown(Result.FIXED, 1, 0.5))
    odds = np.log(0.9 / 0.1) + 0.5 * np.log(0.8 / 0.2) - 1
    assert sure == pytest.approx(1 / (1 + np.exp(-odds)), rel=1e-5)


def test_no_chance_is_so_sure_that_it_outweighs_all_others() -> None:
    signs = describe_trust(work(1.0, 0.0), NOTHING_SHOWN)
    assert np.isfinite(signs).all()
    assert signs[0] == -signs[1] == pytest.approx(np.log(0.997 / 0.003), rel=1e-4)
