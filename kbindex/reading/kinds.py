"""What each sentence does: its kind, whether it tells of an attempt (which operation, on what, by whom), and of a result.

The encoder's states know the whole document ("same thing" after what?); linear heads read them together with lexical signs.
Weights come from `python -m eval train` and are shipped beside the trade's words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.pointers import POINTER_DIM, describe_candidates, describe_works, find_candidates
from kbindex.reading.signs import SIGN_COUNT, TAGS, TURNS, read_signs
from kbindex.reading.states import SentenceStates
from kbindex.records import By, Kind, Operation, Result, Sentence

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

HEADS: Mapping[str, tuple[str, ...]] = {
    "kind": tuple(kind.value for kind in Kind),
    "attempt": ("no", "yes"),
    "turn": TURNS,
    "operation": tuple(operation.value for operation in Operation),
    "by": tuple(by.value for by in By),
}
"""Name of each head -> its classes. `turn` is the result that a sentence tells, `by` and `operation` speak of attempts."""


@dataclass(frozen=True)
class Heads:
    """The weights of heads and pointers by name, float32; a matrix is (out, in), as it multiplies a state."""

    tensors: Mapping[str, Matrix]

    def apply(self, name: str, rows: Matrix) -> Matrix:
        """Apply one linear layer to rows of states: (row_count, in) to (row_count, out)."""
        return np.asarray(rows @ self.tensors[f"{name}.weight"].T + self.tensors[f"{name}.bias"], dtype=np.float32)


@dataclass(frozen=True)
class Pointed:
    """A component that the work told in a sentence may have been done on; `own` where the sentence names it itself."""

    component: str
    start: int
    own: bool
    chance: float
    operation: Operation


@dataclass(frozen=True)
class Judged:
    """What a sentence is judged to be: the chances of each head's classes, of each symptom tag, of each component."""

    chances: Mapping[str, Mapping[str, float]]
    tags: Mapping[str, float] | None = None
    components: tuple[Pointed, ...] = ()

    @property
    def kind(self) -> Kind:
        """The likeliest kind."""
        return Kind(max(self.chances["kind"], key=self.chances["kind"].__getitem__))

    @property
    def attempt(self) -> float:
        """The chance that an attempt is told."""
        return self.chances["attempt"]["yes"]

    @property
    def by_other(self) -> float:
        """The chance that an attempt told here was somebody else's."""
        return self.chances["by"][By.OTHER.value]

    @property
    def operation(self) -> Operation:
        """The likeliest operation of an attempt told here."""
        return Operation(max(self.chances["operation"], key=self.chances["operation"].__getitem__))

    def turn(self, result: Result) -> float:
        """The chance that this result is told."""
        return self.chances["turn"][result.value]


class ResultLinks:
    """Which work a result speaks of."""

    def __init__(self, heads: Heads, sentences: Matrix) -> None:
        asked, offered = heads.apply("point.result.query", sentences), heads.apply("point.result.key", sentences)
        self._heads = heads
        self._products = asked @ offered.T / np.sqrt(POINTER_DIM)

    def chances(self, place: int, works: Sequence[int]) -> list[float]:
        """The chance that the result told in sentence `place` is that of the work told in each sentence of `works`."""
        near = self._heads.apply("point.result.place", describe_works(works, place))[:, 0]
        return [float(chance) for chance in _sigmoid(self._products[place, list(works)] + near)]


@dataclass(frozen=True)
class Verdicts:
    """What the sentences of one job are judged to be, the components named in each, how results point at work."""

    judged: Sequence[Judged]
    mentions: Sequence[Sequence[Mention]]
    links: ResultLinks


@dataclass(frozen=True)
class Seen:
    """Sentences as the heads see them: `rows` are states and lexical signs, (sentence_count, dim + SIGN_COUNT) float32."""

    states: Sequence[SentenceStates]
    rows: Matrix

    def part(self, start: int, end: int) -> Seen:
        """The sentences from `start` to `end`, not included."""
        return Seen(self.states[start:end], self.rows[start:end])

    @property
    def means(self) -> Matrix:
        """The sentences' states alone, (sentence_count, dim)."""
        return self.rows[:, :-SIGN_COUNT]


def look_at(sentences: Sequence[Sentence], states: Sequence[SentenceStates], lexicon: Lexicon) -> Seen:
    """Put the states and the lexical signs of a document's sentences together; there must be at least one."""
    means = np.stack([one.mean() for one in states])
    return Seen(states, np.concatenate([means, read_signs(sentences, lexicon)], axis=1))


def find_openings(seen: Seen, heads: Heads) -> list[float]:
    """For each sentence of a document the chance that it opens a further job."""
    return [float(chance) for chance in _sigmoid(heads.apply("opens", seen.rows))[:, 0]]


def judge(seen: Seen, mentions: Sequence[Sequence[Mention]], heads: Heads) -> Verdicts:
    """Judge the sentences of one job, in order; `mentions` are the components named in each."""
    chances = {name: _chances(heads.apply(name, seen.rows)) for name in HEADS}
    tags = _sigmoid(heads.apply("tag", seen.rows))
    operations = heads.apply("operation", seen.rows)
    means = seen.means
    judged = []
    for place in range(len(means)):
        of_heads = {name: dict(zip(HEADS[name], map(float, chances[name][place]), strict=True)) for name in HEADS}
        pointed = _point(place, means[place], operations[place], seen.states, mentions, heads)
        judged.append(Judged(of_heads, dict(zip(TAGS, map(float, tags[place]), strict=True)), pointed))
    return Verdicts(judged, mentions, ResultLinks(heads, means))


def _point(
    place: int,
    mean: Matrix,
    operation: Matrix,
    states: Sequence[SentenceStates],
    mentions: Sequence[Sequence[Mention]],
    heads: Heads,
) -> tuple[Pointed, ...]:
    """The components that work told here may have been done on, the likeliest first."""
    candidates = find_candidates(mentions, place)
    if not candidates:
        return ()
    named = np.stack([states[one.sentence].mean_of(one.mention.start, one.mention.end) for one in candidates])
    products = heads.apply("point.attempt.key", named) @ heads.apply("point.attempt.query", mean[None])[0]
    near = heads.apply("point.attempt.place", describe_candidates(candidates, place))[:, 0]
    chances = _sigmoid(products / np.sqrt(POINTER_DIM) + near)
    best = (heads.apply("operation.component", named) + operation).argmax(axis=1)
    pointed = [
        Pointed(one.mention.component, one.mention.start, one.sentence == place, float(chance), list(Operation)[number])
        for one, chance, number in zip(candidates, chances, best, strict=True)
    ]
    return tuple(sorted(pointed, key=lambda one: -one.chance))


def _chances(scores: Matrix) -> Matrix:
    """Scores of one class become the chances of no and yes, those of several a softmax."""
    if scores.shape[1] == 1:
        yes = _sigmoid(scores)
        return np.concatenate([1 - yes, yes], axis=1)
    shifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    return np.asarray(shifted / shifted.sum(axis=1, keepdims=True), dtype=np.float32)


def _sigmoid(scores: Matrix) -> Matrix:
    return np.asarray(1 / (1 + np.exp(-scores)), dtype=np.float32)
