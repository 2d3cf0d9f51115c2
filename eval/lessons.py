"""Documents as tensors: what each sentence is, what it points at, how work turned out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import torch

from eval.examples import Example, Piece, is_amount
from eval.network import Amounts, Choice, Lesson, Listed, Pairs
from kbindex.reading.amount_links import describe_value
from kbindex.reading.catalogue import WORDS_BACK, PartWords
from kbindex.reading.kinds import HEADS
from kbindex.reading.opinions import find_said
from kbindex.reading.pointers import (
    Candidate,
    describe_amount,
    describe_candidates,
    describe_turns,
    find_candidates,
    find_named_near,
)
from kbindex.reading.prices import find_amounts
from kbindex.reading.shares import SaidShare
from kbindex.reading.signs import TAGS, TURNS
from kbindex.records import Operation

BEGIN, END = 101, 102
WINDOW_TOKENS, ALONE = 320, 0
_LIKE_ENOUGH = 0.2
"""Words without a number were labelled by ear: their middle lies so near to the labelled one's."""

_Row = np.ndarray[Any, Any]


def make_lesson(example: Example, first_window: int, tokens: Sequence[Any], words: PartWords) -> Lesson:
    """Make the tensors of an example; `tokens` are encodings of its pieces, the first window holds `first_window` tokens."""
    return _Maker(example, first_window, tokens, words).make()


def cut_windows(lengths: Sequence[int], first_most: int, between: int) -> Iterator[tuple[int, int]]:
    """Cut pieces of so many tokens into windows, one after the other; the first one holds `first_most` tokens.

    `ALONE` for the first cuts every piece off by itself.
    """
    start, most = 0, first_most
    while start < len(lengths):
        end, room = start, most - 2
        while end < len(lengths) and (lengths[end] + between <= room or end == start):
            room -= lengths[end] + between
            end += 1
        yield start, end
        start, most = end, ALONE if first_most == ALONE else WINDOW_TOKENS


class _Maker:
    """Gathers the tensors of one document."""

    def __init__(self, example: Example, first_window: int, tokens: Sequence[Any], words: PartWords) -> None:
        self._example, self._pieces, self._tokens, self._parts = example, example.pieces, tokens, words
        self._windows: list[list[int]] = []
        self._starts: list[int] = []
        done = 0
        for first, last in cut_windows([len(one.ids) for one in tokens], first_window, 1):
            ids = [BEGIN]
            for number in range(first, last):
                self._starts.append(done + len(ids))
                ids += [*(tokens[number].ids[: WINDOW_TOKENS - 2] or [END]), END]
            self._windows.append(ids)
            done += len(ids)
        self._width = done
        self._named: dict[tuple[int, int, int], int] = {}
        self._named_rows: list[_Row] = []

    def make(self) -> Lesson:
        pieces = self._pieces
        components, operations, unnamed, pointed = self._work()
        shares, prices = self._amounts(find_shares, "share"), self._amounts(find_prices, "price")
        complaints = [place for place, piece in enumerate(pieces) if piece.kind == "symptom" or piece.tags]
        worked = [place for place, piece in enumerate(pieces) if piece.attempts]
        return Lesson(
            windows=self._windows,
            spread=torch.from_numpy(np.stack([self._average(place, None) for place in range(len(pieces))])),
            named=torch.from_numpy(np.stack(self._named_rows)) if self._named_rows else None,
            signs=torch.from_numpy(self._example.signs),
            kinds=torch.tensor([HEADS["kind"].index(piece.kind) for piece in pieces]),
            turns=torch.tensor([HEADS["turn"].index(piece.turn) for piece in pieces]),
            attempts=torch.tensor([float(bool(piece.attempts)) for piece in pieces]),
            opens=torch.tensor([float(piece.opens) for piece in pieces]),
            complaints=(
                torch.tensor(complaints),
                torch.tensor([[float(tag in pieces[place].tags) for tag in TAGS] for place in complaints]),
                torch.tensor([1.0 if pieces[place].tags else 0.25 for place in complaints]),
            )
            if complaints
            else None,
            others=(
                torch.tensor(worked),
                torch.tensor([float(pieces[place].attempts[0].by == "other") for place in worked]),
            )
            if worked
            else None,
            components=components,
            operations=operations,
            unnamed_operations=unnamed,
            choices=list(self._choices(worked)),
            listed=self._listed(
                [(place, one.component, pointed.get(place, ())) for place in worked for one in pieces[place].attempts]
            ),
            shares=shares,
            prices=prices,
        )

    def _average(self, place: int, characters: tuple[int, int] | None) -> _Row:
        """A row that averages a piece's tokens, or those of a stretch of its characters."""
        encoding, start = self._tokens[place], self._starts[place]
        inside = list(range(self._length(place)))
        if characters:
            told = enumerate(encoding.offsets[: len(inside)])
            inside = [n for n, (a, b) in told if a < characters[1] and b > characters[0]] or [0]
        row = np.zeros(self._width, dtype=np.float32)
        row[start + inside[0] : start + inside[-1] + 1] = 1 / (inside[-1] - inside[0] + 1)
        return row

    def _work(self) -> tuple[Pairs | None, Any, Any, dict[int, list[tuple[int, str]]]]:
        """Also gives for each piece of work the numbers of its pairs with the components that they point at."""
        pairs: list[tuple[int, int, Any, float]] = []
        operations, unnamed = [], []
        pointed: dict[int, list[tuple[int, str]]] = {}
        for place, piece in enumerate(self._pieces):
            wanted = {attempt.component: attempt.operation for attempt in piece.attempts}
            candidates = find_candidates(self._example.mentions, place) if wanted else []
            for one, sign in zip(candidates, describe_candidates(candidates, place), strict=True):
                row = self._mention(one)
                pointed.setdefault(place, []).append((len(pairs), one.mention.component))
                pairs.append((place, row, sign, float(one.mention.component in wanted)))
                if one.mention.component in wanted:
                    operations.append((place, row, _number(wanted[one.mention.component])))
            if wanted and not any(one.mention.component in wanted for one in candidates):
                unnamed.append((place, _number(piece.attempts[0].operation)))
        return _pairs(pairs), _columns(operations), _columns(unnamed), pointed

    def _mention(self, one: Candidate) -> int:
        key = (one.sentence, one.mention.start, one.mention.end)
        if key not in self._named:
            self._named[key] = len(self._named_rows)
            self._named_rows.append(self._average(one.sentence, key[1:]))
        return self._named[key]

    def _listed(self, told: Sequence[tuple[int, str, Sequence[tuple[int, str]]]]) -> Listed | None:
        """For each thing told of a part: its piece, the part, and the pairs that point at components."""
        parts, mentions = self._parts, self._example.mentions
        rows: list[tuple[int, _Row, int]] = []
        words, pairs, cells = [], [], []
        for place, component, pointed in told:
            own = {mention.component for mention in mentions[place]}
            recent = {named for _, named in pointed} - own
            piece = self._pieces[place]
            said = [(pair, named) for pair, named in pointed if named in parts.places]
            pairs += [pair for pair, _ in said]
            cells += [len(rows) * len(parts.names) + parts.places[named] for _, named in said]
            signs = parts.describe(piece.text, piece.machine, own, recent)
            rows.append((place, signs, parts.places.get(component, len(parts.names))))
            words.append(self._words_near(place))
        if not rows:
            return None
        places, described, numbers = zip(*rows, strict=True)
        return Listed(
            torch.tensor(places),
            torch.from_numpy(np.stack(described)),
            words,
            torch.tensor(pairs, dtype=torch.long),
            torch.tensor(cells, dtype=torch.long),
            torch.tensor(numbers),
        )

    def _words_near(self, place: int) -> tuple[torch.Tensor, torch.Tensor]:
        """The rows of the tokens of a piece and of those before it, and how far back each stands."""
        near = range(max(place - WORDS_BACK, 0), place + 1)
        rows = [row for one in near for row in range(self._starts[one], self._starts[one] + self._length(one))]
        back = [place - one for one in near for _ in range(self._length(one))]
        return torch.tensor(rows), torch.tensor(back)

    def _length(self, place: int) -> int:
        return max(min(len(self._tokens[place].ids), WINDOW_TOKENS - 2), 1)

    def _choices(self, worked: Sequence[int]) -> Iterator[Choice]:
        for work in worked:
            end = next((n for n in range(work + 1, len(self._pieces)) if self._pieces[n].opens), len(self._pieces))
            places = list(range(work, end))
            signs = torch.from_numpy(describe_turns(work, places, [n for n in worked if n < end]))
            for attempt in self._pieces[work].attempts:
                right = np.zeros((len(places) + 1, len(TURNS)), dtype=bool)
                shown = self._shown(places, (attempt.job, attempt.order), attempt.result)
                if shown:
                    right[[1 + place - work for place in shown], TURNS.index(attempt.result)] = True
                elif attempt.result == "untested" or (attempt.by == "other" and attempt.result == "no_change"):
                    right[:, 0] = True
                else:
                    continue
                yield Choice(work, torch.tensor(places), signs, torch.from_numpy(right))

    def _shown(self, places: Sequence[int], attempt: tuple[int, int], result: str) -> list[int]:
        """The pieces that show an attempt's result, and those that say it again before other work is told."""
        told = [place for place in places if attempt in self._pieces[place].results]
        again: list[int] = []
        for place in range(told[-1] + 1, places[-1] + 1) if told else ():
            if self._pieces[place].attempts:
                break
            again += [place] if self._pieces[place].turn == result else []
        return told + again

    def _amounts(self, find: _FindAmounts, kind: str) -> Amounts | None:
        spread: list[_Row] = []
        places, signs, prices = [], [], []
        pairs: list[tuple[int, int, Any, float]] = []
        told: list[tuple[int, str, Sequence[tuple[int, str]]]] = []
        for place, piece in enumerate(self._pieces):
            for start, end, row, components in find(piece):
                number = len(spread)
                spread.append(self._average(place, (start, end)))
                places.append(place)
                signs.append(row)
                prices.append(float(bool(components)))
                if not components and kind == "price":
                    continue
                candidates = find_named_near(self._example.mentions, place)
                described = describe_amount(candidates, place, start, end)
                pointed = [(len(pairs) + n, one.mention.component) for n, one in enumerate(candidates)]
                told += [(place, component, pointed) for component in components if component]
                for one, sign in zip(candidates, described, strict=True):
                    pairs.append((number, self._mention(one), sign, float(one.mention.component in components)))
        if not spread:
            return None
        priced = kind == "price"
        return Amounts(
            torch.from_numpy(np.stack(spread)),
            torch.tensor(places),
            _pairs(pairs),
            self._listed(told),
            torch.from_numpy(np.stack(signs)) if priced else None,
            torch.tensor(prices) if priced else None,
        )


_Found = Iterator[tuple[int, int, Any, set[str | None]]]
_FindAmounts = Callable[[Piece], _Found]


def find_prices(piece: Piece) -> _Found:
    """All numbers of a piece: where, their signs, and what they are the price of; {None} for work, nothing for no price."""
    left = list(piece.prices)
    for one in find_amounts(piece.text):
        gold = next((price for price in left if is_amount(one.money.amount, price[1])), None)
        if gold:
            left.remove(gold)
        signs = describe_value(one.money.amount, one.has_currency)
        yield one.money.start, one.money.end, signs, {gold[0]} if gold else set()


def find_shares(piece: Piece) -> _Found:
    """All that may be a share in a piece: where, and what it is labelled to be said of."""
    left = list(piece.shares)
    for said in find_said(piece.text):
        gold = next((share for share in left if _is_said(said, share)), None)
        if gold:
            left.remove(gold)
        yield said.start, said.end, None, {gold[0]} if gold else set()


def _is_said(said: SaidShare, share: tuple[str, float, float]) -> bool:
    if said.counted:
        return is_amount(said.low, share[1]) and is_amount(said.high, share[2])
    return abs(said.low + said.high - share[1] - share[2]) / 2 < _LIKE_ENOUGH


def _number(operation: str) -> int:
    return list(Operation).index(Operation(operation))


def _pairs(pairs: Sequence[tuple[int, int, Any, float]]) -> Pairs | None:
    if not pairs:
        return None
    sources, targets, signs, wanted = zip(*pairs, strict=True)
    return Pairs(torch.tensor(sources), torch.tensor(targets), torch.from_numpy(np.stack(signs)), torch.tensor(wanted))


def _columns(rows: Sequence[tuple[int, ...]]) -> tuple[torch.Tensor, ...] | None:
    return tuple(torch.tensor(column) for column in zip(*rows, strict=True)) if rows else None
