"""Which part of the whole list a sentence of work is about, also where no name in the text says it.

"So that fellow comes out", "low ele 4500", "new tile, cold face to the cold plate": the sentence, its words and those of the
sentences before it are compared with what each part of the list is called, among the parts that the machine has, and what
the sentence points at by name is weighed in. One softmax over all parts and "none of the list".
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.heads import Heads, chances_of
from kbindex.reading.lexicon import Lexicon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

CATALOGUE_DIM = 128
"""Width of the projections that are compared."""
PART_SIGNS = 6
WORDS_BACK = 4
"""In so many sentences before the work the words are compared too."""
UNLISTED = ""
"""The name given to a part that the list does not have."""
_LIKELIEST = 5
"""So many parts are told of a sentence."""
_WORD_RE = re.compile(r"[a-z][a-z']*")


@dataclass(frozen=True)
class PartWords:
    """The parts of a list by number, the machines that they belong to and the words of their names."""

    names: tuple[str, ...]
    lexicon: Lexicon
    _fitting: dict[str | None, Matrix] = field(default_factory=dict, compare=False)

    @cached_property
    def places(self) -> dict[str, int]:
        """Name -> number."""
        return {name: number for number, name in enumerate(self.names)}

    @cached_property
    def _words(self) -> dict[str, list[int]]:
        words: dict[str, list[int]] = {}
        for number, name in enumerate(self.names):
            for word in name.split():
                words.setdefault(word, []).append(number)
        return words

    @cached_property
    def _lengths(self) -> Matrix:
        return np.array([len(name.split()) for name in self.names], dtype=np.float32)

    @cached_property
    def _last_words(self) -> dict[str, list[int]]:
        words: dict[str, list[int]] = {}
        for number, name in enumerate(self.names):
            words.setdefault(name.split()[-1], []).append(number)
        return words

    def describe(self, text: str, machine: str | None, own: Collection[str], recent: Collection[str]) -> Matrix:
        """How each part goes with a sentence, its machine and the parts named in it and before: (part_count, PART_SIGNS)."""
        rows = np.zeros((len(self.names), PART_SIGNS), dtype=np.float32)
        rows[:, 0] = self._fit(machine)
        for column, named in ((1, own), (2, recent)):
            rows[[self.places[name] for name in named if name in self.places], column] = 1.0
        for word in {self.lexicon.spelt_out(word) for word in _WORD_RE.findall(text.lower())}:
            for form in {word, word.removesuffix("s")}:
                rows[self._words.get(form, []), 3] += 1.0
                rows[self._last_words.get(form, []), 4] = 1.0
        rows[:, 3] /= self._lengths
        rows[:, 5] = rows[:, 3] >= 1.0
        return rows

    def _fit(self, machine: str | None) -> Matrix:
        if machine not in self._fitting:
            machines = self.lexicon.part_machines
            fits = [float(machine is None or machine in machines.get(name, ())) for name in self.names]
            self._fitting[machine] = np.array(fits, dtype=np.float32)
        return self._fitting[machine]


@dataclass(frozen=True)
class Sought:
    """A sentence whose part is sought, with what is around it.

    `words` are the token states of the sentence and of `WORDS_BACK` before it, nearest first, each (token_count, dim); `pointed`
    gives the score by which the sentence points at a part that is named; `own` are the parts named in it, `recent` those
    named shortly before.
    """

    mean: Matrix
    words: Sequence[Matrix]
    text: str
    machine: str | None
    own: Collection[str]
    recent: Collection[str]
    pointed: Mapping[str, float]


class Catalogue:
    """The list of parts as the heads know it."""

    def __init__(self, heads: Heads, lexicon: Lexicon) -> None:
        listed = bytes(heads.tensors["catalogue.names"].astype(np.uint8)).decode("utf-8")
        self._heads = heads
        self._words = PartWords(tuple(listed.split("\n")), lexicon)

    def rank(self, sought: Sought) -> dict[str, float]:
        """The chance of each likely part that the work was done on it, the likeliest first; `UNLISTED` for none of the list."""
        heads, words = self._heads, self._words
        keys = heads.tensors["catalogue.key"]
        asked = heads.apply("catalogue.query", sought.mean[None])[0]
        signs = heads.apply("catalogue.signs", words.describe(sought.text, sought.machine, sought.own, sought.recent))[:, 0]
        scores = keys @ asked / np.sqrt(CATALOGUE_DIM) + signs + self._by_words(sought.words)
        for component, score in sought.pointed.items():
            if component in words.places:
                scores[words.places[component]] += heads.apply("catalogue.pointed", np.array([[score]], dtype=np.float32))[0, 0]
        unlisted = heads.apply("catalogue.unlisted", sought.mean[None])[0]
        chances = chances_of(np.concatenate([scores, unlisted])[None])[0]
        best = np.argsort(-chances)[:_LIKELIEST]
        names = (*words.names, UNLISTED)
        return {names[number]: float(chances[number]) for number in best}

    def _by_words(self, words: Sequence[Matrix]) -> Matrix:
        """For each part how well the best of the words fits it: (part_count,)."""
        asked = self._heads.apply("catalogue.word", np.concatenate(words))
        rows = np.repeat(np.arange(len(words)), [len(one) for one in words])
        near = self._heads.tensors["catalogue.near.weight"][rows, 0]
        products = asked @ self._heads.tensors["catalogue.key"].T / np.sqrt(CATALOGUE_DIM) + near[:, None]
        most = products.max(axis=0)
        return np.asarray(most + np.log(np.exp(products - most).sum(axis=0)), dtype=np.float32)
