"""Train the document encoder, its heads and pointers on the labelled set, reproducible from a seed.

The upper layers of the sentence encoder learn together with the heads. What they learn is shipped as what must be added to
the original weights, matrices by their largest singular values, so that it fits into a few megabytes.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import torch
from torch import nn
from torch.nn import functional

from eval.examples import Example, make_forms
from eval.labelled import LabelledDocument
from eval.lessons import BEGIN, END, WINDOW_TOKENS, cut_windows, make_lesson
from eval.network import Lesson, Reader, encode_parts, lesson_loss
from kbindex.engines.document_encoder import HEADS_FILE, TUNED_WEIGHTS, TUNING_FILE
from kbindex.engines.weights import find_weights
from kbindex.reading.catalogue import PartWords
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.sentences import bare_word

_BATCH_TOKENS = 1100
_SHUFFLED_TOGETHER = 64
_STREAMS = 0.6
"""The share of documents whose words are also seen as a stream, for the boundary heads."""


@dataclass(frozen=True)
class Course:
    """How training goes."""

    epochs: int = 6
    layer_rate: float = 2e-4
    head_rate: float = 2e-3
    decay: float = 0.02
    hidden_words: float = 0.08
    warm_up: float = 0.08
    seed: int = 0
    tuned_layers: int = 4
    """How many of the encoder's six layers learn; the lower ones and the word vectors stay."""
    windows: tuple[int, ...] = (106, 213, 320)
    """The first window of a document is one of these long, so that cuts between windows fall elsewhere every time."""
    rank: int = 48
    """Singular values that are kept of what a matrix has learnt."""


@dataclass(frozen=True)
class Stream:
    """Words in a row: token ids, the place of each word's last token, whether a sentence or piece ends there."""

    head: str
    windows: list[list[int]]
    ends: list[int]
    stops: list[float]


@dataclass(frozen=True)
class Source:
    """A document in its forms, with the encodings of their pieces."""

    forms: dict[str, tuple[Example, list[Any]]]
    words: list[list[Any]]
    """Encodings of the words of each sentence, bare ones of a recording."""


def prepare(documents: Sequence[LabelledDocument], weights: Path) -> list[Source]:
    """Prepare documents for lessons; tables have no sentences and give none."""
    from tokenizers import Tokenizer

    tokenizer = Tokenizer.from_file(str(weights / "tokenizer.json"))
    tokenizer.no_truncation()
    tokenizer.no_padding()
    lexicon = load_lexicon()
    sources = []
    for document in documents:
        if not document.sentences:
            continue
        forms = {
            name: (form, [tokenizer.encode(piece.text, add_special_tokens=False) for piece in form.pieces])
            for name, form in make_forms(document, lexicon).items()
        }
        form = bare_word if forms["written"][0].spoken else str
        lines = [[form(word) for word in sentence.text.split()] for sentence in document.sentences]
        words = [[tokenizer.encode(word, add_special_tokens=False) for word in line if word] for line in lines]
        sources.append(Source(forms, words))
    return sources


def train(documents: Sequence[LabelledDocument], course: Course = Course()) -> Reader:  # noqa: B008 - frozen
    """Train on labelled documents. Prints the loss of each epoch."""
    weights = find_weights(TUNED_WEIGHTS)
    sources = prepare(documents, weights)
    lexicon = load_lexicon()
    parts = encode_parts(lexicon.phrases)
    teaching = Teaching(sources, PartWords(parts.names, lexicon), course)
    torch.manual_seed(course.seed)
    reader = Reader(weights, parts, course.tuned_layers)
    reader.train()
    optimizer = _optimizer(reader, course)
    rates = [group["lr"] for group in optimizer.param_groups]
    for epoch in range(course.epochs):
        batches = list(teaching.batches())
        total = 0.0
        for number, batch in enumerate(batches):
            done = (epoch + number / len(batches)) / course.epochs
            for group, rate in zip(optimizer.param_groups, rates, strict=True):
                group["lr"] = rate * min(1.0, done / course.warm_up) * (0.05 + 0.475 * (1 + math.cos(math.pi * done)))
            total += _step(reader, optimizer, batch, course)
        print(f"epoch {epoch + 1}: loss {total / len(batches):.3f} a piece", flush=True)
    reader.eval()
    return reader


def _optimizer(reader: Reader, course: Course) -> torch.optim.Optimizer:
    layers = [weight for weight in reader.bert.parameters() if weight.requires_grad]
    groups = [{"params": layers, "lr": course.layer_rate}, {"params": reader.layers.parameters(), "lr": course.head_rate}]
    return torch.optim.AdamW(groups, weight_decay=course.decay)


def _step(reader: Reader, optimizer: torch.optim.Optimizer, batch: Sequence[Lesson | Stream], course: Course) -> float:
    states = reader.states([ids for one in batch for ids in one.windows], course.hidden_words)
    loss, pieces, row = torch.zeros(()), 0.0, 0
    for one in batch:
        own = torch.cat([states[row + n, : len(ids)] for n, ids in enumerate(one.windows)])
        row += len(one.windows)
        loss = loss + (lesson_loss(reader, one, own) if isinstance(one, Lesson) else _stream_loss(reader, one, own))
        pieces += len(one.kinds) if isinstance(one, Lesson) else sum(one.stops)
    loss = loss / max(pieces, 1)
    optimizer.zero_grad()
    loss.backward()
    nn.utils.clip_grad_norm_([weight for group in optimizer.param_groups for weight in group["params"]], 1.0)
    optimizer.step()
    return float(loss.detach())


def _stream_loss(reader: Reader, stream: Stream, states: torch.Tensor) -> torch.Tensor:
    pairs = torch.cat([states[stream.ends], states[[end + 1 for end in stream.ends]]], 1)
    scores = reader.layers[stream.head](reader.dropout(pairs))[:-1, 0]  # what follows the last word is not seen
    return functional.binary_cross_entropy_with_logits(scores, torch.tensor(stream.stops[:-1]), reduction="sum")


class Teaching:
    """Makes the batches of each epoch: one form of each document, some of the recordings also as streams."""

    def __init__(self, sources: Sequence[Source], words: PartWords, course: Course) -> None:
        self._sources, self._words, self._windows = sources, words, course.windows
        self._chance = random.Random(course.seed)
        self._made: dict[tuple[int, str, int], Lesson] = {}

    def batches(self) -> Iterator[list[Lesson | Stream]]:
        """Make the batches of one epoch, those of like length together, in random order."""
        items = [item for number, source in enumerate(self._sources) for item in self._items(number, source)]
        self._chance.shuffle(items)
        for start in range(0, len(items), _SHUFFLED_TOGETHER):
            groups: list[list[Lesson | Stream]] = [[]]
            for item in sorted(items[start : start + _SHUFFLED_TOGETHER], key=_size):
                rows = sum(len(one.windows) for one in groups[-1]) + len(item.windows)
                if groups[-1] and rows * max(map(len, item.windows)) > _BATCH_TOKENS:
                    groups.append([])
                groups[-1].append(item)
            self._chance.shuffle(groups)
            yield from groups

    def _items(self, number: int, source: Source) -> Iterator[Lesson | Stream]:
        key = (number, self._chance.choice(list(source.forms)), self._chance.choice(self._windows))
        form, tokens = source.forms[key[1]]
        if key not in self._made:
            self._made[key] = make_lesson(form, key[2], tokens, self._words)
        yield self._made[key]
        if self._chance.random() < _STREAMS:
            head = "sentence_end" if form.spoken else "piece_end"
            lengths = [sum(len(word.ids) for word in line) for line in source.words]
            for first, last in cut_windows(lengths, WINDOW_TOKENS, 0):
                yield _stream(head, source.words[first:last])


def _size(item: Lesson | Stream) -> tuple[int, int]:
    return len(item.windows), max(map(len, item.windows))


def _stream(head: str, lines: Sequence[Sequence[Any]]) -> Stream:
    ids, ends, stops = [BEGIN], [], []
    for line in lines:
        for word in line:
            ids += word.ids or [END]
            ends.append(len(ids) - 1)
            stops.append(0.0)
        if stops:
            stops[-1] = 1.0
    return Stream(head, [[*ids, END]], ends, stops)


def save(reader: Reader, folder: Path, course: Course = Course()) -> None:  # noqa: B008 - frozen
    """Write the two files that the package ships, as 16-bit numbers: what the encoder has learnt, and the heads."""
    from safetensors.torch import save_file
    from transformers import AutoModel

    original = dict(AutoModel.from_pretrained(str(find_weights(TUNED_WEIGHTS))).named_parameters())
    changes: dict[str, torch.Tensor] = {}
    for name, weight in reader.bert.named_parameters():
        if not weight.requires_grad:
            continue
        change = (weight - original[name]).detach()
        if change.ndim == 1:
            changes[f"{name}.add"] = change.half()
        else:
            left, values, right = torch.linalg.svd(change, full_matrices=False)
            root = values[: course.rank].sqrt()
            changes[f"{name}.up"] = (left[:, : course.rank] * root).half().contiguous()
            changes[f"{name}.down"] = (root[:, None] * right[: course.rank]).half().contiguous()
    save_file(changes, str(folder / TUNING_FILE))
    heads = {name: tensor.half() if tensor.is_floating_point() else tensor for name, tensor in reader.shipped_heads().items()}
    save_file({name: tensor.contiguous() for name, tensor in heads.items()}, str(folder / HEADS_FILE))
