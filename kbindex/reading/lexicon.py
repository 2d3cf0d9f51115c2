"""The trade's words: parts, machines, symptoms, operations, results and hazards, read from the data files beside this.

To add a part, a machine or a way of saying something, edit the TOML files in `data/`; no code changes. A shop's own list of
parts is laid over the one in `data/` (`parts_list`).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

from kbindex.questions import HazardRule
from kbindex.reading.needed_words import find_needed
from kbindex.reading.parts_list import LONGEST_PHRASE, TOKEN_RE, PartTable, ShopParts, list_parts, spell_out, token_form
from kbindex.reading.parts_list import plain as plain
from kbindex.reading.soundalikes import SoundAlikes

_REMEMBERED_PARTS = 12
_REMEMBERED_TEXTS = 4000
"""Each sentence is looked up several times on its way through reading; the hundreds of patterns are tried once."""


@dataclass(frozen=True)
class Mention:
    """A component named in a text; `sure` is False where a short word ("the board") was interpreted.

    `minor` ones (a screw, a clamp) are seldom what a repair is about.
    """

    component: str
    start: int
    end: int
    sure: bool = True
    minor: bool = False


@dataclass(frozen=True)
class Said:
    """A pattern of the lexicon found in a text: `name` is the tag, operation or result that it stands for."""

    name: str
    start: int
    end: int


@dataclass(frozen=True)
class PhrasePatterns:
    """For each name, how it is said, and what cancels it."""

    says: Mapping[str, tuple[str, ...]]
    cancels: Mapping[str, tuple[str, ...]]
    _known: dict[str, tuple[Said, ...]] = field(default_factory=dict, compare=False)

    def find(self, text: str) -> tuple[Said, ...]:
        """Find what is said in order of place; of overlapping places of one name the longest counts."""
        if text not in self._known:
            if len(self._known) >= _REMEMBERED_TEXTS:
                self._known.clear()
            self._known[text] = tuple(self._look_for(plain(text)))
        return self._known[text]

    @cached_property
    def _listed(self) -> list[tuple[str, str]]:
        return [(name, pattern) for name, says in self.says.items() for pattern in says]

    @cached_property
    def _by_letters(self) -> dict[str, list[int]]:
        """The numbers of the patterns that need certain letters; under "" those that need none."""
        numbers: dict[str, list[int]] = {}
        for number, (_, pattern) in enumerate(self._listed):
            for letters in find_needed(pattern) or ("",):
                numbers.setdefault(letters, []).append(number)
        return numbers

    def _look_for(self, text: str) -> list[Said]:
        lowered = text.lower()
        possible = {number for letters, numbers in self._by_letters.items() if letters in lowered for number in numbers}
        spans: dict[str, list[tuple[int, int]]] = {}
        for number in sorted(possible):
            name, pattern = self._listed[number]
            found = [match.span() for match in _compile(pattern).finditer(text) if match.group()]
            if found:
                spans.setdefault(name, []).extend(found)
        said: list[Said] = []
        for name, all_spans in spans.items():
            blocked = [match.span() for pattern in self.cancels[name] for match in _compile(pattern).finditer(text)]
            free = [span for span in all_spans if not any(_overlap(span, other) for other in blocked)]
            said += [Said(name, start, end) for start, end in _longest_apart(free)]
        return sorted(said, key=lambda said: (said.start, -said.end))


@cache
def _compile(pattern: str) -> re.Pattern[str]:
    """Compiled when first tried: of the hundreds of patterns most texts need few."""
    return re.compile(pattern, re.IGNORECASE)


def _overlap(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _longest_apart(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    kept: list[tuple[int, int]] = []
    for span in sorted(spans, key=lambda span: (span[0] - span[1], span[0])):
        if not any(_overlap(span, other) for other in kept):
            kept.append(span)
    return kept


@dataclass(frozen=True)
class Lexicon:
    """All words of the trade, ready to be looked up."""

    phrases: Mapping[str, str]
    shorts: Mapping[str, tuple[str, ...]]
    skeletons: Mapping[str, str]
    part_machines: Mapping[str, frozenset[str]]
    minor: frozenset[str]
    defaults: Mapping[tuple[str, str], str]
    machine_phrases: Mapping[str, str]
    machine_hazards: Mapping[str, tuple[str, ...]]
    mishearings: Mapping[str, str]
    mishearing: re.Pattern[str]
    symptoms: PhrasePatterns
    operations: PhrasePatterns
    intentions: PhrasePatterns
    results: PhrasePatterns
    hazards: PhrasePatterns
    cautions: Mapping[str, HazardRule]
    shop_parts: str = ""
    """Digest of the shop's own list of parts; empty where it keeps none."""

    def mend(self, text: str) -> str:
        """Put trade words back where the recogniser wrote what they sound like ("solar noise valve")."""
        return self.mishearing.sub(lambda match: self.mishearings[match.group().lower()], text)

    def mend_by_sound(self, text: str) -> str:
        """Mend also what only sounds like a part's name: for captions that nobody has looked over."""
        return self._sound_alikes.mend(self.mend(text))

    @cached_property
    def _sound_alikes(self) -> SoundAlikes:
        return SoundAlikes.of([*self.phrases, *self.shorts])

    def find_parts(self, text: str, machine: str | None = None, recent: Sequence[str] = ()) -> list[Mention]:
        """Find the components named in a text, in order.

        A short word ("the board") means the latest of `recent` that it can stand for, else what it usually means on
        `machine`, else the part that it stands for first in the list.
        """
        tokens = [(self.spelt_out(m.group().lower()), m.start(), m.end()) for m in TOKEN_RE.finditer(plain(text))]
        found: list[Mention] = []
        place = 0
        while place < len(tokens):
            mention, taken = self._part_at(tokens, place, machine, [*recent, *(m.component for m in found)])
            if mention:
                found.append(mention)
            place += taken
        return found

    def name_parts(self, texts: Sequence[str], machine: str | None = None) -> list[list[Mention]]:
        """Find the components named in each sentence of a job about `machine`, the machine itself left out.

        A short word means what was spoken of last that it can stand for.
        """
        recent: list[str] = []
        named = []
        for text in texts:
            mentions = [one for one in self.find_parts(text, machine, recent) if one.component != machine]
            recent += [one.component for one in mentions if not one.minor]
            del recent[:-_REMEMBERED_PARTS]
            named.append(mentions)
        return named

    def spelt_out(self, token: str) -> str:
        """Write out shorthand that leaves the vowels away: "vlv" is a valve, "gskts" are gaskets."""
        return spell_out(token, self._known_words, self.skeletons)

    @cached_property
    def _known_words(self) -> frozenset[str]:
        return frozenset((*self.phrases, *self.shorts))

    def _part_at(
        self, tokens: list[tuple[str, int, int]], place: int, machine: str | None, recent: Sequence[str]
    ) -> tuple[Mention | None, int]:
        for length in range(min(LONGEST_PHRASE, len(tokens) - place), 0, -1):
            window = tokens[place : place + length]
            for phrase in _singulars(" ".join(token for token, _, _ in window)):
                if phrase in self.phrases:
                    component = self._narrow(self.phrases[phrase], machine, recent)
                    return Mention(component, window[0][1], window[-1][2], minor=component in self.minor), length
                if phrase in self.shorts and (meant := self._interpret(phrase, machine, recent)):
                    return Mention(meant, window[0][1], window[-1][2], sure=False), length
        return None, 1

    def _narrow(self, component: str, machine: str | None, recent: Sequence[str]) -> str:
        """A general name ("fuse") means the particular part spoken of before ("thermal fuse"), else the machine's usual one."""
        for other in reversed(recent):
            if other.endswith(" " + component):
                return other
        return self.defaults.get((component, machine), component) if machine else component

    def _interpret(self, short: str, machine: str | None, recent: Sequence[str]) -> str | None:
        """What a short word means; None where the machine has no such part (a "brush" is a tool on a washer)."""
        candidates = self.shorts[short]
        for component in reversed(recent):
            if component in candidates or component.split()[-1] == short:
                return component
        if machine and (short, machine) in self.defaults:
            return self.defaults[short, machine]
        fitting = [part for part in candidates if machine and machine in self.part_machines[part]]
        if machine:
            return fitting[0] if fitting else None
        return candidates[0]

    def find_machines(self, text: str) -> list[Said]:
        """Find the machines named in a text, in order; longer names win over shorter ones within them."""
        tokens = [(match.group().lower(), match.start(), match.end()) for match in TOKEN_RE.finditer(plain(text))]
        found: list[Said] = []
        place = 0
        while place < len(tokens):
            taken = 1
            for length in range(min(4, len(tokens) - place), 0, -1):
                window = tokens[place : place + length]
                names = [p for p in _singulars(" ".join(t for t, _, _ in window)) if p in self.machine_phrases]
                if names:
                    found.append(Said(self.machine_phrases[names[0]], window[0][1], window[-1][2]))
                    taken = length
                    break
            place += taken
        return found


def _singulars(phrase: str) -> Iterator[str]:
    yield phrase
    if phrase.endswith("'s"):
        yield phrase[:-2]
    if len(phrase) > 3 and phrase.endswith("s") and not phrase.endswith("ss"):
        yield phrase[:-1]
        if phrase.endswith("es"):
            yield phrase[:-2]


def load_lexicon(shop: ShopParts = ShopParts()) -> Lexicon:
    """Give the trade's words with a shop's own list of parts laid over them; the data files are read once a process."""
    return _make_lexicon(shop)


@cache
def _make_lexicon(shop: ShopParts) -> Lexicon:
    machines = _read("machines.toml")["machine"]
    cautions = _read("cautions.toml")["caution"]
    operations = _read("operations.toml")["operation"]
    parts = list_parts(_shipped_parts(), shop, [machine["name"] for machine in machines])
    longest_first = sorted(parts.mishearings, key=len, reverse=True)
    return Lexicon(
        phrases=parts.phrases,
        shorts=parts.shorts,
        skeletons=parts.skeletons,
        part_machines=parts.machines,
        minor=parts.minor,
        defaults=parts.defaults,
        machine_phrases=machine_names(),
        machine_hazards={machine["name"]: tuple(machine.get("hazards", ())) for machine in machines},
        mishearings=parts.mishearings,
        mishearing=re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first))})(?=s?\b)", re.IGNORECASE),
        symptoms=_patterns(_read("symptoms.toml")["symptom"], "tag", "says"),
        operations=_patterns(operations, "name", "does"),
        intentions=_patterns(operations, "name", "will"),
        results=_patterns(_read("results.toml")["result"], "name", "says"),
        hazards=_hazard_patterns(cautions),
        cautions={c["topic"]: HazardRule(c["topic"], c["text"], c["reference"]) for c in cautions},
        shop_parts=shop.digest,
    )


def machine_names() -> dict[str, str]:
    """Each machine's name by all that it is called, in the form in which words are looked up."""
    machines = _read("machines.toml")["machine"]
    return {token_form(words): machine["name"] for machine in machines for words in (machine["name"], *machine.get("also", ()))}


def _shipped_parts() -> list[PartTable]:
    return [
        PartTable(
            name=part["name"],
            machines=tuple(part.get("machines", ())),
            also=tuple(part.get("also", ())),
            short=tuple(part.get("short", ())),
            heard=tuple(part.get("heard", ())),
            default_for=tuple(part.get("default_for", ())),
            minor=part.get("minor"),
        )
        for part in _read("parts.toml")["part"]
    ]


@cache
def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("kbindex.reading").joinpath("data", name).read_text(encoding="utf-8"))


def _patterns(tables: Iterable[Mapping[str, Any]], name: str, key: str) -> PhrasePatterns:
    listed = list(tables)
    return PhrasePatterns(
        {table[name]: tuple(table.get(key, ())) for table in listed},
        {table[name]: tuple(table.get("not", ())) for table in listed},
    )


def _hazard_patterns(cautions: Iterable[Mapping[str, Any]]) -> PhrasePatterns:
    says = {
        caution["topic"]: (r"\b(?:" + "|".join(re.escape(word) for word in caution["words"]) + r")\b",) for caution in cautions
    }
    return PhrasePatterns(says, {topic: () for topic in says})
