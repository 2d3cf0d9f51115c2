"""The document encoder with its heads and pointers as a torch module, and the loss of a document.

The numpy side (`kbindex.reading.kinds`) applies the same layers under the same names.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from torch import nn
from torch.nn import functional

from kbindex.reading.amount_links import VALUE_SIGNS
from kbindex.reading.catalogue import CATALOGUE_DIM, PART_SIGNS, WORDS_BACK
from kbindex.reading.confidence import TRUST_SIGNS
from kbindex.reading.kinds import HEADS
from kbindex.reading.pointers import AMOUNT_SIGNS, CANDIDATE_SIGNS, POINTER_DIM, TURN_SIGNS
from kbindex.reading.signs import SIGN_COUNT, TAGS, TURNS
from kbindex.records import Operation

MASK = 103
DIM = 384
_RARE_TAG_BIAS = -3.0
_KIND_SMOOTHING, _TURN_SMOOTHING = 0.05, 0.02
_OPENING_WEIGHT, _LINK_WEIGHT = 8.0, 3.0
"""Openings are one in some hundred sentences, what an amount is of one in some ten components."""
_NAME_SCALE = 20.0
"""By how much the first guess of the catalogue, likeness of meaning, is sharpened."""


class Reader(nn.Module):  # type: ignore[misc]
    """Encoder, heads and pointers. Layer names are those of `kbindex.reading.kinds`, with "/" for "."."""

    def __init__(self, weights: Path, parts: PartVectors, tuned_layers: int, dropout: float = 0.2) -> None:
        from transformers import AutoModel

        super().__init__()
        self.part_names = parts.names
        self.register_buffer("part_vectors", parts.vectors, persistent=False)
        self.bert = AutoModel.from_pretrained(str(weights), hidden_dropout_prob=0.0, attention_probs_dropout_prob=0.0)
        self.bert.requires_grad_(False)
        for layer in self.bert.encoder.layer[len(self.bert.encoder.layer) - tuned_layers :]:
            layer.requires_grad_(True)
        self.dropout = nn.Dropout(dropout)
        width = DIM + SIGN_COUNT
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
        self.layers["operation/component"] = nn.Linear(DIM, len(Operation))
        for name in ("sentence_end", "piece_end"):
            self.layers[name] = nn.Linear(2 * DIM, 1)
        pointers = (("attempt", DIM, CANDIDATE_SIGNS), ("share", 2 * DIM, AMOUNT_SIGNS), ("price", 2 * DIM, AMOUNT_SIGNS))
        for pointer, asking, signs in pointers:
            self.layers[f"point/{pointer}/query"] = nn.Linear(asking, POINTER_DIM)
            self.layers[f"point/{pointer}/key"] = nn.Linear(DIM, POINTER_DIM)
            self.layers[f"point/{pointer}/place"] = nn.Linear(signs, 1)
        self.layers["is_price"] = nn.Linear(2 * DIM + VALUE_SIGNS, 1)
        for name in ("query", "key"):
            self.layers[f"result/{name}"] = nn.Linear(width, POINTER_DIM)
        self.layers["result/place"] = nn.Linear(TURN_SIGNS, 1)
        self.layers["result/nothing"] = nn.Linear(width, 1)
        self.layers["result/class"] = nn.Linear(POINTER_DIM, len(TURNS))
        self.layers["catalogue/query"] = nn.Linear(DIM, CATALOGUE_DIM)
        self.layers["catalogue/key"] = nn.Linear(DIM, CATALOGUE_DIM, bias=False)
        self.layers["catalogue/signs"] = nn.Linear(PART_SIGNS, 1)
        self.layers["catalogue/word"] = nn.Linear(DIM, CATALOGUE_DIM)
        self.layers["catalogue/near"] = nn.Embedding(WORDS_BACK + 1, 1)
        self.layers["catalogue/pointed"] = nn.Linear(1, 1)
        self.layers["catalogue/unlisted"] = nn.Linear(DIM, 1)
        self.layers["catalogue/learnt"] = nn.Embedding(len(parts.names), CATALOGUE_DIM)
        self.layers["trust"] = nn.Linear(TRUST_SIGNS, 1)  # fitted apart, by `eval.calibrate`
        self._start_from_likeness()
        nn.init.constant_(self.layers["tag"].bias, _RARE_TAG_BIAS)

    def _start_from_likeness(self) -> None:
        """Before any training the catalogue ranks parts by the cosine of their names with the sentence."""
        query, word, key = (self.layers[f"catalogue/{name}"] for name in ("query", "word", "key"))
        nn.init.orthogonal_(query.weight)
        nn.init.zeros_(query.bias)
        nn.init.zeros_(word.bias)
        nn.init.zeros_(self.layers["catalogue/learnt"].weight)
        with torch.no_grad():
            key.weight.copy_(query.weight * _NAME_SCALE)
            word.weight.copy_(query.weight)
            self.layers["catalogue/near"].weight[:, 0] = -torch.arange(WORDS_BACK + 1, dtype=torch.float32)

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

    def part_keys(self) -> torch.Tensor:
        """What each part is compared by: its names' meaning and what training has learnt of it, (part_count, width)."""
        keys: torch.Tensor = self.layers["catalogue/key"](self.part_vectors) + self.layers["catalogue/learnt"].weight
        return keys

    def rank_parts(self, listed: Listed, means: torch.Tensor, states: torch.Tensor, pointed: torch.Tensor) -> torch.Tensor:
        """Score all parts of the list, and none of them, for sentences: (sentence_count, part_count + 1).

        `means` are all sentences' states, `states` all tokens', `pointed` the scores of the pairs of the document.
        """
        keys = self.dropout(self.part_keys())
        own = self.dropout(means[listed.places])
        scores = self.layers["catalogue/query"](own) @ keys.T / math.sqrt(CATALOGUE_DIM)
        scores = scores + self.layers["catalogue/signs"](listed.signs)[..., 0]
        for row, (tokens, near) in enumerate(listed.words):
            asked = self.layers["catalogue/word"](self.dropout(states[tokens])) @ keys.T / math.sqrt(CATALOGUE_DIM)
            scores[row] = scores[row] + torch.logsumexp(asked + self.layers["catalogue/near"](near), 0)
        if len(listed.pairs):
            best = torch.zeros(scores.numel()).scatter_reduce(
                0, listed.cells, pointed[listed.pairs], "amax", include_self=False
            )
            named = torch.zeros(scores.numel()).index_fill(0, listed.cells, 1.0)
            said = self.layers["catalogue/pointed"](best[:, None])[:, 0] * named
            scores = scores + said.view_as(scores)
        return torch.cat([scores, self.layers["catalogue/unlisted"](own)], 1)

    def shipped_heads(self) -> dict[str, torch.Tensor]:
        """The layers under the names by which the package asks for them; of the catalogue its keys and names."""
        heads = {name.replace("/", "."): tensor.detach() for name, tensor in self.layers.state_dict().items()}
        del heads["catalogue.key.weight"], heads["catalogue.learnt.weight"]
        heads["catalogue.key"] = self.part_keys().detach()
        heads["catalogue.names"] = torch.tensor(list("\n".join(self.part_names).encode("utf-8")), dtype=torch.uint8)
        return heads


@dataclass(frozen=True)
class PartVectors:
    """The parts of the list and what their names mean: (part_count, dim) float32, by the encoder before it is tuned."""

    names: tuple[str, ...]
    vectors: torch.Tensor


def encode_parts(phrases: Mapping[str, str]) -> PartVectors:
    """Encode the parts' names, each with all its synonyms; `phrases` gives each phrase's part."""
    from kbindex.engines.sentence_vectors import MiniLm

    named: dict[str, list[str]] = {}
    for phrase, part in phrases.items():
        named.setdefault(part, []).append(phrase)
    names = tuple(sorted(named))
    listed = [(part, phrase) for part in names for phrase in (part, part, *named[part])]  # the plain name counts most
    vectors = MiniLm().encode([phrase for _, phrase in listed])
    sums = np.zeros((len(names), vectors.shape[1]), dtype=np.float32)
    np.add.at(sums, [names.index(part) for part, _ in listed], vectors)
    return PartVectors(names, torch.from_numpy(sums / np.linalg.norm(sums, axis=1, keepdims=True)))


@dataclass(frozen=True)
class Pairs:
    """Pairs to score: rows of what asks and of what is asked, signs of their places, whether they belong together."""

    sources: torch.Tensor
    targets: torch.Tensor
    signs: torch.Tensor
    wanted: torch.Tensor


@dataclass(frozen=True)
class Choice:
    """Work told in sentence `work`, the sentences that may show its end, and which (sentence, result) are right.

    `right` is (1 + place_count, result_count) of 0 and 1, its first row for "nothing shown".
    """

    work: int
    places: torch.Tensor
    signs: torch.Tensor
    right: torch.Tensor


@dataclass(frozen=True)
class Listed:
    """Work or amounts and the part of the list that each is of, one row each; the number after the last part for none of them.

    `words` are the rows of the tokens in and before the sentence, with how many sentences back each stands. The pair number
    `pairs[i]` points at a part whose cell of the (row, part) table is number `cells[i]`.
    """

    places: torch.Tensor
    signs: torch.Tensor
    words: Sequence[tuple[torch.Tensor, torch.Tensor]]
    pairs: torch.Tensor
    cells: torch.Tensor
    wanted: torch.Tensor


@dataclass(frozen=True)
class Amounts:
    """Numbers of one sort: rows that average the tokens of each, the sentences that they stand in, what they are of."""

    spread: torch.Tensor
    places: torch.Tensor
    pairs: Pairs | None
    listed: Listed | None
    signs: torch.Tensor | None = None
    is_price: torch.Tensor | None = None


@dataclass(frozen=True)
class Lesson:
    """A document as tensors; `spread` and `named` average the states of all its windows' tokens into sentences, mentions."""

    windows: list[list[int]]
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
    operations: tuple[torch.Tensor, torch.Tensor, torch.Tensor] | None
    unnamed_operations: tuple[torch.Tensor, torch.Tensor] | None
    choices: Sequence[Choice]
    listed: Listed | None
    shares: Amounts | None
    prices: Amounts | None


def lesson_loss(reader: Reader, lesson: Lesson, states: torch.Tensor) -> torch.Tensor:
    """The summed loss of a document's sentences; `states` are those of its windows' tokens, (token_count, dim)."""
    means = lesson.spread @ states
    rows = torch.cat([reader.dropout(means), lesson.signs], 1)
    out = {name: reader.layers[name](rows) for name in ("kind", "attempt", "turn", "operation", "by", "tag", "opens")}
    loss = functional.cross_entropy(out["kind"], lesson.kinds, reduction="sum", label_smoothing=_KIND_SMOOTHING)
    loss = loss + functional.cross_entropy(out["turn"], lesson.turns, reduction="sum", label_smoothing=_TURN_SMOOTHING)
    loss = loss + _binary(out["attempt"][:, 0], lesson.attempts)
    loss = loss + _weighted(out["opens"][:, 0], lesson.opens, _OPENING_WEIGHT)
    if lesson.complaints:
        places, wanted, weights = lesson.complaints
        each = functional.binary_cross_entropy_with_logits(out["tag"][places], wanted, reduction="none").sum(1)
        loss = loss + (each * weights).sum()
    if lesson.others:
        loss = loss + _binary(out["by"][lesson.others[0], 0], lesson.others[1])
    loss = loss + _amount_loss(reader, lesson, means, states)
    for choice in lesson.choices:
        loss = loss + _choice_loss(reader, choice, rows, out["turn"])
    return loss + _work_loss(reader, lesson, out["operation"], means, states)


def _choice_loss(reader: Reader, choice: Choice, rows: torch.Tensor, turns: torch.Tensor) -> torch.Tensor:
    asked, offered = reader.layers["result/query"](rows[choice.work]), reader.layers["result/key"](rows[choice.places])
    products = reader.dropout(asked * offered)
    scores = products.sum(1) / math.sqrt(POINTER_DIM) + reader.layers["result/place"](choice.signs)[:, 0]
    which = functional.log_softmax(torch.cat([reader.layers["result/nothing"](rows[choice.work]), scores]), 0)
    shown = functional.log_softmax(turns[choice.places] + reader.layers["result/class"](products), 1)
    joint = torch.cat([torch.zeros(1, shown.shape[1]), shown]) + which[:, None]
    loss: torch.Tensor = -torch.logsumexp(joint[choice.right], 0)
    return loss


def _amount_loss(reader: Reader, lesson: Lesson, means: torch.Tensor, states: torch.Tensor) -> torch.Tensor:
    loss = torch.zeros(())
    for name, amounts in (("share", lesson.shares), ("price", lesson.prices)):
        if amounts is None:
            continue
        asking = reader.dropout(torch.cat([amounts.spread @ states, means[amounts.places]], 1))
        if amounts.signs is not None:
            loss = loss + _binary(reader.layers["is_price"](torch.cat([asking, amounts.signs], 1))[:, 0], amounts.is_price)
        scores = torch.zeros(0)
        if amounts.pairs is not None and lesson.named is not None:
            scores = reader.point(name, asking, lesson.named @ states, amounts.pairs)
            loss = loss + _weighted(scores, amounts.pairs.wanted, _LINK_WEIGHT)
        if amounts.listed:
            ranked = reader.rank_parts(amounts.listed, means, states, scores)
            loss = loss + functional.cross_entropy(ranked, amounts.listed.wanted, reduction="sum")
    return loss


def _work_loss(
    reader: Reader, lesson: Lesson, operation: torch.Tensor, means: torch.Tensor, states: torch.Tensor
) -> torch.Tensor:
    loss = torch.zeros(())
    if lesson.unnamed_operations:
        places, wanted = lesson.unnamed_operations
        loss = loss + functional.cross_entropy(operation[places], wanted, reduction="sum")
    named = lesson.named @ states if lesson.named is not None else None
    pointed = torch.zeros(0)
    if lesson.components and named is not None:
        pointed = reader.point("attempt", means, named, lesson.components)
        loss = loss + _binary(pointed, lesson.components.wanted)
    if lesson.listed:
        scores = reader.rank_parts(lesson.listed, means, states, pointed)
        loss = loss + functional.cross_entropy(scores, lesson.listed.wanted, reduction="sum")
    if lesson.operations and named is not None:
        places, parts, wanted = lesson.operations
        scores = operation[places] + reader.layers["operation/component"](named[parts])
        loss = loss + functional.cross_entropy(scores, wanted, reduction="sum")
    return loss


def _weighted(scores: torch.Tensor, wanted: torch.Tensor, weight: float) -> torch.Tensor:
    """As `_binary`, with more weight on what is rare."""
    return functional.binary_cross_entropy_with_logits(scores, wanted, reduction="sum", pos_weight=torch.tensor(weight))


def _binary(scores: torch.Tensor, wanted: torch.Tensor) -> torch.Tensor:
    return functional.binary_cross_entropy_with_logits(scores, wanted, reduction="sum")
