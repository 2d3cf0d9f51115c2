"""Which component a share or a price is of, and whether a number in the text is a price at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from kbindex.reading.amounts import Money
from kbindex.reading.catalogue import UNLISTED
from kbindex.reading.heads import Heads, sigmoid
from kbindex.reading.lexicon import Mention
from kbindex.reading.pointers import describe_amount, find_named_near
from kbindex.reading.states import SentenceStates

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

VALUE_SIGNS = 8
_SIZES = (0.0, 3.0, 20.0, 150.0, 600.0, np.inf)


def describe_value(value: float, has_currency: bool) -> Matrix:
    """What the size and the form of a number say of its being a price: (VALUE_SIGNS,) float32."""
    sizes = [low <= value < high for low, high in zip(_SIZES, _SIZES[1:], strict=False)]
    return np.array([*sizes, has_currency, value != round(value), 1.0], dtype=np.float32)


_SURE = 0.5
"""Chance of a part of the list from which it counts more than how the words stand."""


@dataclass(frozen=True)
class Link:
    """What an amount may be of: the chance of each component that is named near, and the likeliest part of the whole list.

    `part` is None where the list has no such part; `part_chance` is its chance, whether a name points at it or not.
    """

    chances: Mapping[str, float]
    part: str | None = None
    part_chance: float = 0.0

    @property
    def sure_part(self) -> str | None:
        """The part of the list that counts more than how the words stand; None where none is sure enough."""
        return self.part if self.part_chance >= _SURE else None


class AmountLinks(Protocol):
    """What is known of the amounts in one job's sentences from more than the words beside them."""

    def of_share(self, place: int, start: int, end: int) -> Link:
        """What the share at these characters of sentence `place` is said of."""
        ...

    def of_price(self, place: int, start: int, end: int) -> Link:
        """What the number at these characters of sentence `place` is the price of."""
        ...

    def is_price(self, place: int, money: Money, has_currency: bool) -> float:
        """The chance that a number in sentence `place` is what something cost."""
        ...


@dataclass(frozen=True)
class TrainedLinks:
    """Fulfils `AmountLinks` by trained weights, over the states of one job's sentences and the components named in each."""

    heads: Heads
    states: Sequence[SentenceStates]
    mentions: Sequence[Sequence[Mention]]
    rank: Callable[[int, Mapping[str, float]], Mapping[str, float]]
    """Gives for a sentence and the scores of what it points at the likeliest parts of the list."""

    def of_share(self, place: int, start: int, end: int) -> Link:
        """What the share at these characters of sentence `place` is said of."""
        return self._link("share", place, start, end)

    def of_price(self, place: int, start: int, end: int) -> Link:
        """What the number at these characters of sentence `place` is the price of."""
        return self._link("price", place, start, end)

    def is_price(self, place: int, money: Money, has_currency: bool) -> float:
        """The chance that a number in sentence `place` is what something cost."""
        signs = describe_value(money.amount, has_currency)
        row = np.concatenate([self._state(place, money.start, money.end), signs])[None]
        return float(sigmoid(self.heads.apply("is_price", row))[0, 0])

    def _state(self, place: int, start: int, end: int) -> Matrix:
        return np.concatenate([self.states[place].mean_of(start, end), self.states[place].mean()])

    def _link(self, name: str, place: int, start: int, end: int) -> Link:
        scores = self._scores(name, place, start, end)
        part, chance = next(iter(self.rank(place, scores).items()))
        near = {component: float(sigmoid(np.array(score))) for component, score in scores.items()}
        return Link(near, None if part == UNLISTED else part, chance)

    def _scores(self, name: str, place: int, start: int, end: int) -> dict[str, float]:
        """The best score of each component that is named near."""
        candidates = find_named_near(self.mentions, place)
        if not candidates:
            return {}
        named = np.stack([self.states[one.sentence].mean_of(one.mention.start, one.mention.end) for one in candidates])
        signs = describe_amount(candidates, place, start, end)
        best: dict[str, float] = {}
        for one, score in zip(candidates, self.heads.point(name, self._state(place, start, end), named, signs), strict=True):
            best[one.mention.component] = max(best.get(one.mention.component, -np.inf), float(score))
        return best
