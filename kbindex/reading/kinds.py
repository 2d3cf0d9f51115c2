"""What each sentence does: its kind, whether it tells of an attempt (which operation, on what, by whom), and of a result.

The encoder's states know the whole document ("same thing" after what?); linear heads read them together with lexical signs.
Weights come from `python -m eval train` and are shipped beside the trade's words.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.amount_links import AmountLinks, TrainedLinks
from kbindex.reading.catalogue import WORDS_BACK, Catalogue, Sought
from kbindex.reading.heads import Heads, chances_of, sigmoid
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.pointers import describe_candidates, find_candidates
from kbindex.reading.result_choice import ResultChoice, TrainedChoice
from kbindex.reading.signs import SIGN_COUNT, TAGS, TURNS, read_signs
from kbindex.reading.states import SentenceStates
from kbindex.records import By, Kind, Operation, Sentence

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
_LEAST_CHANCE = 1e-6
POSSIBLE_WORK = 0.25
"""Chance of an attempt from which a sentence's components are looked for."""


@dataclass(frozen=True)
class Pointed:
    """A component that the work told in a sentence may have been done on; `own` where the sentence names it itself."""

    component: str
    start: int
    own: bool
    chance: float
    operation: Operation

    @property
    def score(self) -> float:
        """The chance as log odds."""
        chance = min(max(self.chance, _LEAST_CHANCE), 1 - _LEAST_CHANCE)
        return math.log(chance / (1 - chance))


@dataclass(frozen=True)
class Judged:
    """What a sentence is judged to be: the chances of each head's classes, of each symptom tag, of each component.

    `components` are those named there or before, `listed` the likeliest of the whole list; both only for possible work.
    """

    chances: Mapping[str, Mapping[str, float]]
    tags: Mapping[str, float] | None = None
    components: tuple[Pointed, ...] = ()
    listed: Mapping[str, float] = field(default_factory=dict)

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


@dataclass(frozen=True)
class Talk:
    """The sentences of one job: their texts, the machine if it is known, and the components named in each."""

    texts: Sequence[str]
    machine: str | None
    mentions: Sequence[Sequence[Mention]]


@dataclass(frozen=True)
class Verdicts:
    """What the sentences of one job are judged to be, how its work turned out, what its amounts are of."""

    judged: Sequence[Judged]
    mentions: Sequence[Sequence[Mention]]
    choice: ResultChoice
    amounts: AmountLinks


Correct = Callable[[int, Judged], Judged]
"""What is known of a sentence (by its number) from outside its words, such as the column of a table that it stands in."""


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
    return [float(chance) for chance in sigmoid(heads.apply("opens", seen.rows))[:, 0]]


def judge(seen: Seen, talk: Talk, heads: Heads, catalogue: Catalogue, correct: Correct | None = None) -> Verdicts:
    """Judge the sentences of one job, in order; `correct` puts right what is known from outside their words."""
    chances = {name: _chances(heads.apply(name, seen.rows)) for name in HEADS}
    tags = sigmoid(heads.apply("tag", seen.rows))
    operations = heads.apply("operation", seen.rows)
    means = seen.means
    rank = partial(_rank_parts, seen, talk, catalogue)
    judged = []
    for place in range(len(means)):
        of_heads = {name: dict(zip(HEADS[name], map(float, chances[name][place]), strict=True)) for name in HEADS}
        one = Judged(of_heads, dict(zip(TAGS, map(float, tags[place]), strict=True)))
        one = correct(place, one) if correct else one
        if one.attempt >= POSSIBLE_WORK:
            pointed = _point(place, means[place], operations[place], seen.states, talk.mentions, heads)
            one = replace(one, components=pointed, listed=rank(place, _best_scores(pointed)))
        judged.append(one)
    silent = [place for place, one in enumerate(judged) if one.chances["turn"]["none"] >= 1.0]
    choice = TrainedChoice(heads, seen.rows, silent)
    return Verdicts(judged, talk.mentions, choice, TrainedLinks(heads, seen.states, talk.mentions, rank))


def _rank_parts(seen: Seen, talk: Talk, catalogue: Catalogue, place: int, pointed: Mapping[str, float]) -> Mapping[str, float]:
    """The likeliest parts of the list that a sentence is about; `pointed` gives the scores of those that it points at."""
    own = {mention.component for mention in talk.mentions[place]}
    words = [seen.states[back].tokens for back in range(place, max(place - WORDS_BACK, 0) - 1, -1)]
    return catalogue.rank(Sought(seen.means[place], words, talk.texts[place], talk.machine, own, set(pointed) - own, pointed))


def _best_scores(pointed: Sequence[Pointed]) -> dict[str, float]:
    return {one.component: one.score for one in reversed(pointed)}  # the likeliest comes first and is written last


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
    chances = sigmoid(heads.point("attempt", mean, named, describe_candidates(candidates, place)))
    best = (heads.apply("operation.component", named) + operation).argmax(axis=1)
    pointed = [
        Pointed(one.mention.component, one.mention.start, one.sentence == place, float(chance), list(Operation)[number])
        for one, chance, number in zip(candidates, chances, best, strict=True)
    ]
    return tuple(sorted(pointed, key=lambda one: -one.chance))


def _chances(scores: Matrix) -> Matrix:
    """Scores of one class become the chances of no and yes, those of several a softmax."""
    if scores.shape[1] == 1:
        yes = sigmoid(scores)
        return np.concatenate([1 - yes, yes], axis=1)
    return chances_of(scores)
