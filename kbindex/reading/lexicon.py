"""The trade's words: parts, machines, symptoms, operations, results and hazards, read from the data files beside this.

To add a part, a machine or a way of saying something, edit the TOML files in `data/`; no code changes.
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
from kbindex.reading.soundalikes import SoundAlikes

_TOKEN_RE = re.compile(r"[a-z0-9][a-z0-9']*(?:/[a-z0-9]+)?|&", re.IGNORECASE)
_VOWEL_RE = re.compile(r"[aeiouy]")
_LONGEST_PHRASE = 6
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
    def _compiled(self) -> list[tuple[str, list[re.Pattern[str]], list[re.Pattern[str]]]]:
        """Compiled when first looked up: a question needs few of the hundreds of patterns."""
        return [
            (name, [re.compile(p, re.IGNORECASE) for p in says], [re.compile(p, re.IGNORECASE) for p in self.cancels[name]])
            for name, says in self.says.items()
        ]

    def _look_for(self, text: str) -> list[Said]:
        found: list[Said] = []
        for name, says, cancels in self._compiled:
            spans = [match.span() for pattern in says for match in pattern.finditer(text) if match.group()]
            if spans:
                blocked = [match.span() for pattern in cancels for match in pattern.finditer(text)]
                free = [span for span in spans if not any(_overlap(span, other) for other in blocked)]
                found += [Said(name, start, end) for start, end in _longest_apart(free)]
        return sorted(found, key=lambda said: (said.start, -said.end))


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
        tokens = [(self._spelt_out(m.group().lower()), m.start(), m.end()) for m in _TOKEN_RE.finditer(plain(text))]
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

    def _spelt_out(self, token: str) -> str:
        """Write out shorthand that leaves the vowels away: "vlv" is a valve, "gskts" are gaskets."""
        bare = token[:-1] if token.endswith("s") and len(token) > 3 else token
        if len(bare) < 3 or _VOWEL_RE.search(bare) or token in self.phrases or token in self.shorts:
            return token
        return self.skeletons.get(bare, token)

    def _part_at(
        self, tokens: list[tuple[str, int, int]], place: int, machine: str | None, recent: Sequence[str]
    ) -> tuple[Mention | None, int]:
        for length in range(min(_LONGEST_PHRASE, len(tokens) - place), 0, -1):
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
        tokens = [(match.group().lower(), match.start(), match.end()) for match in _TOKEN_RE.finditer(plain(text))]
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


def plain(text: str) -> str:
    """Bring typographic apostrophes and dashes to plain ones, keeping every character's place."""
    return text.replace("’", "'").replace("‘", "'").replace("–", "-").replace("—", "-")


def _singulars(phrase: str) -> Iterator[str]:
    yield phrase
    if phrase.endswith("'s"):
        yield phrase[:-2]
    if len(phrase) > 3 and phrase.endswith("s") and not phrase.endswith("ss"):
        yield phrase[:-1]
        if phrase.endswith("es"):
            yield phrase[:-2]


@cache
def load_lexicon() -> Lexicon:
    """Read the data files once a process."""
    parts = _read("parts.toml")["part"]
    machines = _read("machines.toml")["machine"]
    cautions = _read("cautions.toml")["caution"]
    operations = _read("operations.toml")["operation"]
    mishearings = {heard.lower(): part["name"] for part in parts for heard in part.get("heard", ())}
    longest_first = sorted(mishearings, key=len, reverse=True)
    return Lexicon(
        phrases=_part_phrases(parts),
        shorts=_part_shorts(parts),
        skeletons=_skeletons(parts),
        part_machines={part["name"]: frozenset(part.get("machines", ())) for part in parts},
        minor=frozenset(part["name"] for part in parts if part.get("minor")),
        defaults=_part_defaults(parts),
        machine_phrases={_token_form(w): m["name"] for m in machines for w in (m["name"], *m.get("also", ()))},
        machine_hazards={machine["name"]: tuple(machine.get("hazards", ())) for machine in machines},
        mishearings=mishearings,
        mishearing=re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first))})(?=s?\b)", re.IGNORECASE),
        symptoms=_patterns(_read("symptoms.toml")["symptom"], "tag", "says"),
        operations=_patterns(operations, "name", "does"),
        intentions=_patterns(operations, "name", "will"),
        results=_patterns(_read("results.toml")["result"], "name", "says"),
        hazards=_hazard_patterns(cautions),
        cautions={c["topic"]: HazardRule(c["topic"], c["text"], c["reference"]) for c in cautions},
    )


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("kbindex.reading").joinpath("data", name).read_text(encoding="utf-8"))


def _token_form(phrase: str) -> str:
    return " ".join(match.group().lower() for match in _TOKEN_RE.finditer(plain(phrase)))


def _part_phrases(parts: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    phrases: dict[str, str] = {}
    for part in parts:
        for words in part.get("also", ()):
            phrases.setdefault(_token_form(words), part["name"])
    phrases.update({_token_form(part["name"]): part["name"] for part in parts})
    return phrases


def _part_shorts(parts: Iterable[Mapping[str, Any]]) -> dict[str, tuple[str, ...]]:
    shorts: dict[str, list[str]] = {}
    for part in parts:
        for words in part.get("short", ()):
            shorts.setdefault(_token_form(words), []).append(part["name"])
    return {word: tuple(names) for word, names in shorts.items()}


def _skeletons(parts: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Consonants -> word, for the words of part names; what could stand for two words stands for neither."""
    words = {word for part in parts for name in (part["name"], *part.get("short", ())) for word in _token_form(name).split()}
    meant: dict[str, set[str]] = {}
    for word in words:
        if len(word) >= 4:
            meant.setdefault(word[0] + _VOWEL_RE.sub("", word[1:]), set()).add(word)
    return {bones: next(iter(found)) for bones, found in meant.items() if len(found) == 1 and len(bones) >= 3}


def _part_defaults(parts: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], str]:
    defaults: dict[tuple[str, str], str] = {}
    for part in parts:
        for machine in part.get("default_for", ()):
            for words in part.get("short", ()):
                defaults.setdefault((_token_form(words), machine), part["name"])
    return defaults


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
