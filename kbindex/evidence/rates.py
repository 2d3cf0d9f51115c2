"""Shares counted over jobs, with their uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from statistics import median

from kbindex.questions import Rate, Spread

_Z_95 = 1.959963984540054


def wilson_rate(k: int, of: int) -> Rate:
    """Give `k` of `of` with Wilson's 95 % interval; all None where there were no trials.

    Source: E. B. Wilson 1927, "Probable inference, the law of succession, and statistical inference", JASA 22:209-212.

    Raises:
        ValueError: `k` is not within 0..`of`.
    """
    if not 0 <= k <= of:
        raise ValueError(f"{k} of {of} is no count of successes")
    if of == 0:
        return Rate(0, 0, None, None, None)
    share = k / of
    scale = 1 + _Z_95**2 / of
    middle = (share + _Z_95**2 / (2 * of)) / scale
    half = _Z_95 / scale * sqrt(share * (1 - share) / of + _Z_95**2 / (4 * of**2))
    low = 0.0 if k == 0 else middle - half
    high = 1.0 if k == of else middle + half
    return Rate(k, of, round(share, 4), round(low, 4), round(high, 4))


def spread_of(values: Sequence[float], currency: str | None = None) -> Spread | None:
    """Give median and range; None for no values."""
    if not values:
        return None
    return Spread(round(median(values), 2), min(values), max(values), len(values), currency)
