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


@dataclass(frozen=True)
class Part:
    """A part of the list, None for none of it, and its chance."""

    component: str | None
    chance: float


class AmountLinks(Protocol):
    """What is known of the amounts in one job's sentences from more than the words beside them."""

    def of_share(self, place: int, start: int, end: int) -> Mapping[str, float]:
        """The chance of each component that the share at these characters of sentence `place` is said of it."""
        ...

    def of_price(self, place: int, start: int, end: int) -> Mapping[str, float]:
        """The chance of each component that the number at these characters of sentence `place` is its price."""
        ...

    def part_of_share(self, place: int, start: int, end: int) -> Part:
        """The likeliest part of the list that the share is said of, whether a name points at it or not."""
        ...

    def part_of_price(self, place: int, start: int, end: int) -> Part:
        """The likeliest part of the list that the number is the price of, whether a name points at it or not."""
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

    def of_share(self, place: int, start: int, end: int) -> Mapping[str, float]:
        """The chance of each component that the share at these characters of sentence `place` is said of it."""
        return {part: float(sigmoid(np.array(score))) for part, score in self._scores("share", place, start, end).items()}

    def of_price(self, place: int, start: int, end: int) -> Mapping[str, float]:
        """The chance of each component that the number at these characters of sentence `place` is its price."""
        return {part: float(sigmoid(np.array(score))) for part, score in self._scores("price", place, start, end).items()}

    def part_of_share(self, place: int, start: int, end: int) -> Part:
        """The likeliest part of the list that the share is said of, whether a name points at it or not."""
        return self._part("share", place, start, end)

    def part_of_price(self, place: int, start: int, end: int) -> Part:
        """The likeliest part of the list that the number is the price of, whether a name points at it or not."""
        return self._part("price", place, start, end)

    def is_price(self, place: int, money: Money, has_currency: bool) -> float:
        """The chance that a number in sentence `place` is what something cost."""
        signs = describe_value(money.amount, has_currency)
        row = np.concatenate([self._state(place, money.start, money.end), signs])[None]
        return float(sigmoid(self.heads.apply("is_price", row))[0, 0])

    def _state(self, place: int, start: int, end: int) -> Matrix:
        return np.concatenate([self.states[place].mean_of(start, end), self.states[place].mean()])

    def _part(self, name: str, place: int, start: int, end: int) -> Part:
        part, chance = next(iter(self.rank(place, self._scores(name, place, start, end)).items()))
        return Part(part if part != UNLISTED else None, chance)

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
