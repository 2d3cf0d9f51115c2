"""Wilson's interval against published worked cases and statsmodels."""

import pytest
from statsmodels.stats.proportion import proportion_confint

from kbindex.evidence.rates import wilson_rate

# Newcombe 1998, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17:857-872, Table I
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]


@pytest.mark.parametrize(("k", "of", "low", "high"), NEWCOMBE)
def test_newcombe_table_one(k: int, of: int, low: float, high: float) -> None:
    rate = wilson_rate(k, of)
    assert (rate.low, rate.high) == (low, high)


@pytest.mark.parametrize("of", [1, 2, 3, 7, 10, 40, 1000])
def test_statsmodels_agrees(of: int) -> None:
    for k in range(0, of + 1, max(1, of // 7)):
        low, high = proportion_confint(k, of, alpha=0.05, method="wilson")
        rate = wilson_rate(k, of)
        assert rate.low == pytest.approx(low, abs=5.1e-5)
        assert rate.high == pytest.approx(high, abs=5.1e-5)
        assert rate.value == pytest.approx(k / of, abs=5.1e-5)


def test_no_trials_give_no_rate() -> None:
    rate = wilson_rate(0, 0)
    assert (rate.value, rate.low, rate.high, rate.of) == (None, None, None, 0)


@pytest.mark.parametrize(("k", "of"), [(-1, 3), (4, 3), (1, 0)])
def test_impossible_counts_are_refused(k: int, of: int) -> None:
    with pytest.raises(ValueError, match="no count"):
        wilson_rate(k, of)
