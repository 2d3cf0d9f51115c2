"""What the document reader is compared with: the trade's words alone, and heads over sentences that know no neighbours.

Both go through the same reader with the same parts list; only what the heads see, and where their weights come from, differs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import torch

from eval.labelled import LabelledDocument
from eval.lessons import ALONE, BEGIN, END, WINDOW_TOKENS
from eval.network import DIM, Reader
from eval.reading_figures import score_boundaries, score_kinds
from eval.reading_report import read_documents, score_jobs
from eval.train import Course, train
from kbindex.engines.weights import find_weights
from kbindex.reading.heads import Heads
from kbindex.reading.reader import ReadingTools
from kbindex.reading.signs import SIGN_COUNT, TAGS, TURNS
from kbindex.reading.states import SentenceStates
from kbindex.records import Kind, Operation

_OPERATION, _INTENTION, _PART, _COMPLAINT, _RESULTS = 0, 1, 2, 3, 4
_MONEY, _SHARE, _READING, _HAZARD, _OTHERS = 8, 9, 11, 13, 16
"""Places of lexical signs (`kbindex.reading.signs`)."""


_FIGURES = ("attempts", "results", "outcomes", "shares", "costs", "tags")


def compare_readers(
    taught: Sequence[LabelledDocument], documents: Sequence[LabelledDocument], tools: ReadingTools
) -> Iterator[str]:
    """Read documents with the three readers; the lines of a table. The parts list and the taught documents are the same."""
    plain = train(taught, Course(epochs=3, tuned_layers=0, windows=(ALONE,)))  # linear heads learn fast
    readers = {
        "rules alone": replace(tools, heads=rule_heads(tools.heads), encoder=NoEncoder()),
        "heads over single sentences": replace(tools, heads=heads_of(plain), encoder=SentenceEncoder(plain)),
        "document reader": tools,
    }
    yield f"| reader | kind macro-F1 | Pk, WindowDiff | {' | '.join(_FIGURES)} |"
    yield "|" + "---|" * (len(_FIGURES) + 3)
    for name, reader in readers.items():
        read = read_documents(documents, reader)
        score, (pk, window_diff, _) = score_jobs(read, tools), score_boundaries(read)
        rates = [getattr(score, figure).f1 or 0.0 for figure in _FIGURES]
        columns = [f"{score_kinds(read)[0]:.3f}", f"{pk:.3f}, {window_diff:.3f}", *(f"{rate:.3f}" for rate in rates)]
        yield f"| {name} | {' | '.join(columns)} |"


class NoEncoder:
    """Knows nothing of words: all states are zero, and no sentence ends where none is seen to end."""

    def encode(self, texts: Sequence[str]) -> list[SentenceStates]:
        """Give one state of zeros a sentence."""
        return [SentenceStates(np.zeros((1, DIM), dtype=np.float32), [(0, len(text))]) for text in texts]

    def encode_words(self, words: Sequence[str]) -> Any:
        """Give zeros for each word."""
        return np.zeros((len(words), 2 * DIM), dtype=np.float32)


def rule_heads(trained: Heads) -> Heads:
    """Weights written by hand over the lexical signs, as a person would write rules; `trained` gives their shapes."""
    tensors = {name: np.zeros_like(tensor) for name, tensor in trained.tensors.items()}
    tensors["catalogue.names"] = trained.tensors["catalogue.names"]
    _write_kinds(tensors)
    attempt = tensors["attempt.weight"][0, DIM:]
    attempt[[_OPERATION, _PART, _INTENTION]] = 4.0, 3.0, -5.0
    tensors["attempt.bias"][0] = -5.0
    tensors["by.weight"][0, DIM + _OTHERS] = 6.0
    tensors["by.bias"][0] = -3.0
    for number in range(1, len(TURNS)):
        tensors["turn.weight"][number, DIM + _RESULTS + number - 1] = 8.0
    tensors["turn.bias"][0] = 4.0
    first_tag, first_operation = SIGN_COUNT - len(TAGS) - len(Operation), SIGN_COUNT - len(Operation)
    for number in range(len(TAGS)):
        tensors["tag.weight"][number, DIM + first_tag + number] = 8.0
    for number in range(len(Operation)):
        tensors["operation.weight"][number, DIM + first_operation + number] = 6.0
    tensors["operation.bias"][0] = 1.0
    tensors["tag.bias"][:] = -4.0
    tensors["opens.bias"][:] = np.log(0.05 / 0.95)
    tensors["sentence_end.bias"][:] = tensors["piece_end.bias"][:] = -6.0
    tensors["point.attempt.place.weight"][0, [0, 5, 10]] = 3.0, -2.0, 2.0  # named here, no small part, the nearest
    tensors["point.attempt.place.bias"][0] = -2.0
    _write_choice(tensors)
    tensors["point.share.place.bias"][0] = tensors["point.price.place.bias"][0] = np.log(0.3 / 0.7)
    tensors["is_price.bias"][0] = 5.0
    return Heads(tensors)


def _write_kinds(tensors: dict[str, Any]) -> None:
    weights = tensors["kind.weight"][:, DIM:]
    for kind, sign, weight in (
        (Kind.SYMPTOM, _COMPLAINT, 3.0),
        (Kind.CHECK, _READING, 4.0),
        (Kind.SHARE, _SHARE, 5.0),
        (Kind.COST, _MONEY, 5.0),
        (Kind.CAUTION, _HAZARD, 3.0),
        (Kind.ACTION, _OPERATION, 2.0),
        (Kind.ACTION, _PART, 1.5),
        (Kind.ACTION, _INTENTION, -3.0),
    ):
        weights[list(Kind).index(kind), sign] = weight
    weights[list(Kind).index(Kind.RESULT), _RESULTS : _RESULTS + len(TURNS) - 1] = 4.0
    tensors["kind.bias"][list(Kind).index(Kind.ASIDE)] = 1.0


def _write_choice(tensors: dict[str, Any]) -> None:
    """The first sentence after the work that tells a result, before other work begins."""
    tensors["result.query.bias"][0] = 1.0
    tensors["result.key.weight"][0, DIM + _RESULTS : DIM + _RESULTS + len(TURNS) - 1] = 64.0
    tensors["result.place.weight"][0, [6, 7, 12]] = -3.0, -6.0, -0.5  # other work told between, and distance
    tensors["result.nothing.bias"][0] = 3.0


class SentenceEncoder:
    """Encodes each sentence by itself with a torch module, so that no state knows another sentence."""

    def __init__(self, reader: Reader) -> None:
        from tokenizers import Tokenizer

        self._reader = reader
        self._tokenizer = Tokenizer.from_file(str(find_weights("all-minilm-l6-v2") / "tokenizer.json"))
        self._tokenizer.no_truncation()
        self._tokenizer.no_padding()

    def encode(self, texts: Sequence[str]) -> list[SentenceStates]:
        """Give the states of each sentence."""
        encodings = [self._tokenizer.encode(text, add_special_tokens=False) for text in texts]
        ids = [encoding.ids[: WINDOW_TOKENS - 2] or [END] for encoding in encodings]
        with torch.no_grad():
            states = self._reader.states([[BEGIN, *one, END] for one in ids]).numpy()
        each = zip(states, ids, encodings, strict=True)
        return [SentenceStates(rows[1 : len(one) + 1], encoding.offsets[: len(one)]) for rows, one, encoding in each]

    def encode_words(self, words: Sequence[str]) -> Any:
        """Give for each word its last token's state and the next one's, the words of a stretch together."""
        found = []
        for start in range(0, len(words), 150):
            ids = [self._tokenizer.encode(word, add_special_tokens=False).ids or [END] for word in words[start : start + 150]]
            with torch.no_grad():
                rows = self._reader.states([[BEGIN, *(token for one in ids for token in one)][:509] + [END]]).numpy()[0]
            ends = np.minimum(np.cumsum([len(one) for one in ids]), len(rows) - 2)
            found += [np.concatenate([rows[end], rows[end + 1]]) for end in ends]
        return np.array(found, dtype=np.float32)


def heads_of(reader: Reader) -> Heads:
    """A module's heads as the package applies them."""
    return Heads({name: tensor.numpy().astype(np.float32) for name, tensor in reader.shipped_heads().items()})
