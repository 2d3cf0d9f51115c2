"""The document encoder with its heads and pointers as a torch module, and the loss of a window of a document.

The numpy side (`kbindex.reading.kinds`) applies the same layers under the same names.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import nn
from torch.nn import functional

from eval.examples import Example
from kbindex.reading.kinds import HEADS
from kbindex.reading.pointers import (
    CANDIDATE_SIGNS,
    POINTER_DIM,
    WORK_SIGNS,
    describe_candidates,
    describe_works,
    find_candidates,
)
from kbindex.reading.signs import SIGN_COUNT, TAGS
from kbindex.records import Operation

BEGIN, END, MASK = 101, 102, 103
TUNED_LAYERS = 4
"""How many of the encoder's six layers learn; the lower ones and the word vectors stay."""
_DIM = 384
_RARE_TAG_BIAS = -3.0
_KIND_SMOOTHING, _TURN_SMOOTHING = 0.05, 0.02
_OPENING_WEIGHT = 8.0


class Reader(nn.Module):  # type: ignore[misc]
    """Encoder, heads and pointers. Layer names are those of `kbindex.reading.kinds`, with "/" for "."."""

    def __init__(self, weights: Path, dropout: float = 0.15) -> None:
        from transformers import AutoModel

        super().__init__()
        self.bert = AutoModel.from_pretrained(str(weights), hidden_dropout_prob=0.0, attention_probs_dropout_prob=0.0)
        self.bert.requires_grad_(False)
        for layer in self.bert.encoder.layer[-TUNED_LAYERS:]:
            layer.requires_grad_(True)
        self.dropout = nn.Dropout(dropout)
        width = _DIM + SIGN_COUNT
        sizes = {
            "kind": 9,
            "attempt": 1,
            "turn": len(HEADS["turn"]),
            "operation": len(Operation),
            "by": 1,
            "tag": len(TAGS),
            "opens": 1,
        }
        self.layers = nn.ModuleDict({name: nn.Linear(width, size) for name, size in sizes.items()})
        self.layers["operation/component"] = nn.Linear(_DIM, len(Operation))
        for name in ("sentence_end", "piece_end"):
            self.layers[name] = nn.Linear(2 * _DIM, 1)
        for pointer, signs in (("attempt", CANDIDATE_SIGNS), ("result", WORK_SIGNS)):
            self.layers[f"point/{pointer}/query"] = nn.Linear(_DIM, POINTER_DIM)
            self.layers[f"point/{pointer}/key"] = nn.Linear(_DIM, POINTER_DIM)
            self.layers[f"point/{pointer}/place"] = nn.Linear(signs, 1)
        nn.init.constant_(self.layers["tag"].bias, _RARE_TAG_BIAS)

    def states(self, sequences: Sequence[Sequence[int]], masked: float = 0.0) -> torch.Tensor:
        """Encode token sequences: (sequence_count, longest, dim); `masked` of the words are hidden, as a dropout of words."""
        longest = max(map(len, sequences))
        ids = torch.zeros(len(sequences), longest, dtype=torch.long)
        mask = torch.zeros_like(ids)
        for row, sequence in enumerate(sequences):
            ids[row, : len(sequence)] = torch.tensor(sequence)
            mask[row, : len(sequence)] = 1
        if masked:
            ids[(torch.rand(ids.shape) < masked) & (ids > MASK)] = MASK
        with torch.autocast("cpu", dtype=torch.bfloat16):
            states: torch.Tensor = self.bert(input_ids=ids, attention_mask=mask).last_hidden_state
        return states.float()

    def point(self, pointer: str, asking: torch.Tensor, asked: torch.Tensor, pairs: Pairs) -> torch.Tensor:
        """Score pairs: (pair_count,)."""
        queries, keys = self.layers[f"point/{pointer}/query"](asking), self.layers[f"point/{pointer}/key"](asked)
        products = (queries[pairs.sources] * keys[pairs.targets]).sum(-1) / math.sqrt(POINTER_DIM)
        scores: torch.Tensor = products + self.layers[f"point/{pointer}/place"](pairs.signs)[:, 0]
        return scores

    def shipped_heads(self) -> dict[str, torch.Tensor]:
        """The layers under the names by which the package asks for them."""
        return {name.replace("/", "."): tensor.detach() for name, tensor in self.layers.state_dict().items()}


@dataclass(frozen=True)
class Pairs:
    """Pairs to score: rows of what asks and of what is asked, signs of their places, whether they belong together."""

    sources: torch.Tensor
    targets: torch.Tensor
    signs: torch.Tensor
    wanted: torch.Tensor


@dataclass(frozen=True)
class Window:
    """A stretch of an example as tensors. `spread` and `named` average token states into sentences and mentions."""

    ids: list[int]
    spread: torch.Tensor
    named: torch.Tensor | None
    signs: torch.Tensor
    kinds: torch.Tensor
    turns: torch.Tensor
    attempts: torch.Tensor
    opens: torch.Tensor
    complaints: tuple[torch.Tensor, torch.Tensor, torch.Tensor] | None
    others: tuple[torch.Tensor, torch.Tensor] | None
    components: Pairs | None
    results: Pairs | None
    operations: tuple[torch.Tensor, torch.Tensor, torch.Tensor] | None
    unnamed_operations: tuple[torch.Tensor, torch.Tensor] | None


def window_loss(reader: Reader, window: Window, states: torch.Tensor) -> torch.Tensor:
    """The summed loss of a window's sentences; `states` is (tokens, dim)."""
    states = states[: len(window.ids)]
    means = window.spread @ states
    rows = torch.cat([reader.dropout(means), window.signs], 1)
    out = {name: reader.layers[name](rows) for name in ("kind", "attempt", "turn", "operation", "by", "tag", "opens")}
    loss = functional.cross_entropy(out["kind"], window.kinds, reduction="sum", label_smoothing=_KIND_SMOOTHING)
    loss = loss + functional.cross_entropy(out["turn"], window.turns, reduction="sum", label_smoothing=_TURN_SMOOTHING)
    loss = loss + _binary(out["attempt"][:, 0], window.attempts)
    loss = loss + _opening_loss(out["opens"][:, 0], window.opens)
    if window.complaints:
        places, wanted, weights = window.complaints
        each = functional.binary_cross_entropy_with_logits(out["tag"][places], wanted, reduction="none").sum(1)
        loss = loss + (each * weights).sum()
    if window.others:
        loss = loss + _binary(out["by"][window.others[0], 0], window.others[1])
    if window.results:
        loss = loss + _binary(reader.point("result", means, means, window.results), window.results.wanted)
    return loss + _work_loss(reader, window, out["operation"], means, states)


def _work_loss(
    reader: Reader, window: Window, operation: torch.Tensor, means: torch.Tensor, states: torch.Tensor
) -> torch.Tensor:
    loss = torch.zeros(())
    if window.unnamed_operations:
        places, wanted = window.unnamed_operations
        loss = loss + functional.cross_entropy(operation[places], wanted, reduction="sum")
    if window.named is None:
        return loss
    named = window.named @ states
    if window.components:
        loss = loss + _binary(reader.point("attempt", means, named, window.components), window.components.wanted)
    if window.operations:
        places, parts, wanted = window.operations
        scores = operation[places] + reader.layers["operation/component"](named[parts])
        loss = loss + functional.cross_entropy(scores, wanted, reduction="sum")
    return loss


def _opening_loss(scores: torch.Tensor, wanted: torch.Tensor) -> torch.Tensor:
    """Openings are rare: one in some hundred sentences."""
    weight = torch.tensor(_OPENING_WEIGHT)
    return functional.binary_cross_entropy_with_logits(scores, wanted, reduction="sum", pos_weight=weight)


def _binary(scores: torch.Tensor, wanted: torch.Tensor) -> torch.Tensor:
    return functional.binary_cross_entropy_with_logits(scores, wanted, reduction="sum")


def make_window(example: Example, first: int, last: int, tokens: Sequence[Any]) -> Window:
    """Make the tensors of the pieces from `first` to `last` (not included); `tokens` are encodings of all pieces."""
    return _Maker(example, first, last, tokens).make()


class _Maker:
    """Gathers the tensors of one window."""

    def __init__(self, example: Example, first: int, last: int, tokens: Sequence[Any]) -> None:
        self._example, self._first, self._tokens = example, first, tokens
        self._pieces = example.pieces[first:last]
        self._ids, self._starts = [BEGIN], []
        for number in range(first, last):
            self._starts.append(len(self._ids))
            self._ids += [*(tokens[number].ids or [END]), END]
        self._named: dict[tuple[int, int, int], int] = {}
        self._named_rows: list[np.ndarray[Any, Any]] = []

    def make(self) -> Window:
        pieces = self._pieces
        components, operations, unnamed = self._work()
        complaints = [place for place, piece in enumerate(pieces) if piece.kind == "symptom" or piece.tags]
        worked = [place for place, piece in enumerate(pieces) if piece.attempts]
        return Window(
            ids=self._ids,
            spread=torch.from_numpy(np.stack([self._average(place, None) for place in range(len(pieces))])),
            named=torch.from_numpy(np.stack(self._named_rows)) if self._named_rows else None,
            signs=torch.from_numpy(self._example.signs[self._first : self._first + len(pieces)]),
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
            results=self._results(),
            operations=operations,
            unnamed_operations=unnamed,
        )

    def _average(self, place: int, characters: tuple[int, int] | None) -> np.ndarray[Any, Any]:
        """A row that averages a piece's tokens, or those of a stretch of its characters."""
        encoding, start = self._tokens[self._first + place], self._starts[place]
        inside = list(range(max(len(encoding.ids), 1)))
        if characters:
            inside = [n for n, (a, b) in enumerate(encoding.offsets) if a < characters[1] and b > characters[0]] or [0]
        row = np.zeros(len(self._ids), dtype=np.float32)
        row[start + inside[0] : start + inside[-1] + 1] = 1 / (inside[-1] - inside[0] + 1)
        return row

    def _work(self) -> tuple[Pairs | None, Any, Any]:
        pairs: list[tuple[int, int, Any, float]] = []
        operations, unnamed = [], []
        for place, piece in enumerate(self._pieces):
            wanted = {attempt.component: attempt.operation for attempt in piece.attempts}
            here = self._first + place
            candidates = find_candidates(self._example.mentions, here, self._first) if wanted else []
            signs = describe_candidates(candidates, here)
            for one, sign in zip(candidates, signs, strict=True):
                row = self._mention(one.sentence - self._first, one.mention.start, one.mention.end)
                pairs.append((place, row, sign, float(one.mention.component in wanted)))
                if one.mention.component in wanted:
                    operations.append((place, row, _number(wanted[one.mention.component])))
            if wanted and not any(one.mention.component in wanted for one in candidates):
                unnamed.append((place, _number(piece.attempts[0].operation)))
        return _pairs(pairs), _columns(operations), _columns(unnamed)

    def _mention(self, place: int, start: int, end: int) -> int:
        key = (place, start, end)
        if key not in self._named:
            self._named[key] = len(self._named_rows)
            self._named_rows.append(self._average(place, (start, end)))
        return self._named[key]

    def _results(self) -> Pairs | None:
        pairs: list[tuple[int, int, Any, float]] = []
        for place, piece in enumerate(self._pieces):
            works = [n for n in range(place + 1) if self._pieces[n].attempts] if piece.results else []
            signs = describe_works(works, place)
            for work, sign in zip(works, signs, strict=True):
                told = any((a.job, a.order) in piece.results for a in self._pieces[work].attempts)
                pairs.append((place, work, sign, float(told)))
        return _pairs(pairs)


def _number(operation: str) -> int:
    return list(Operation).index(Operation(operation))


def _pairs(pairs: Sequence[tuple[int, int, Any, float]]) -> Pairs | None:
    if not pairs:
        return None
    sources, targets, signs, wanted = zip(*pairs, strict=True)
    return Pairs(torch.tensor(sources), torch.tensor(targets), torch.from_numpy(np.stack(signs)), torch.tensor(wanted))


def _columns(rows: Sequence[tuple[int, ...]]) -> tuple[torch.Tensor, ...] | None:
    return tuple(torch.tensor(column) for column in zip(*rows, strict=True)) if rows else None
