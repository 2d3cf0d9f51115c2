"""The list of parts: the trade's, and over it the one that a shop keeps for itself.

What the shop says goes before what the trade's list says. A phrase that the shop claims for a part is taken from the others;
a short word, which several parts may share, means the shop's part first and stands for the others on other machines.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass, replace

TOKEN_RE = re.compile(r"[a-z0-9][a-z0-9']*(?:/[a-z0-9]+)?|&", re.IGNORECASE)
LONGEST_PHRASE = 6
"""Words of the longest phrase that is looked for."""
_VOWEL_RE = re.compile(r"[aeiouy]")


@dataclass(frozen=True)
class PartTable:
    """One `[[part]]` table; `data/parts.toml` says what its keys mean. `minor` is None where the table does not say."""

    name: str
    machines: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    heard: tuple[str, ...] = ()
    default_for: tuple[str, ...] = ()
    minor: bool | None = None


@dataclass(frozen=True)
class ShopParts:
    """The tables of a shop's own list; none where it keeps none."""

    tables: tuple[PartTable, ...] = ()

    @property
    def digest(self) -> str:
        """A few letters that change with what the tables say, not with how the file is laid out; empty without tables."""
        if not self.tables:
            return ""
        said = json.dumps([astuple(table) for table in self.tables])
        return hashlib.sha256(said.encode()).hexdigest()[:8]


@dataclass(frozen=True)
class PartsList:
    """All parts, ready to be looked up.

    Attributes:
        phrases: Full names and abbreviations -> part.
        shorts: Short words -> the parts that each can stand for, the first one first.
        skeletons: Consonants of a word -> the word.
        machines: Part -> the machines on which it is found.
        minor: Parts that a repair is seldom about.
        defaults: (short word, machine) -> the part that is meant.
        mishearings: What a recogniser writes -> the part.
    """

    phrases: Mapping[str, str]
    shorts: Mapping[str, tuple[str, ...]]
    skeletons: Mapping[str, str]
    machines: Mapping[str, frozenset[str]]
    minor: frozenset[str]
    defaults: Mapping[tuple[str, str], str]
    mishearings: Mapping[str, str]


def list_parts(shipped: Sequence[PartTable], shop: ShopParts, machines: Collection[str]) -> PartsList:
    """Lay a shop's list over the shipped one.

    A new part of the shop's whose table names no machine is found on all `machines`.
    """
    own = list(_as_parts(shop.tables, shipped, machines))
    sure = {token_form(words): table.name for table in own for words in (table.name, *table.also, *table.heard)}
    vague = _short_words(own)
    rest = [_without_claimed(table, sure, vague) for table in shipped] if own else shipped
    tables = [*own, *rest]
    found_on = _machines_of(tables)
    phrases, shorts, skeletons = _phrases(own, rest), _short_words(tables), _skeletons(own, rest)
    known = {*phrases, *shorts}
    for phrase, name in _phrases(own, ()).items():
        phrases.setdefault(_spell_phrase(phrase, known, skeletons), name)
    minor = {table.name: table.minor for table in (*rest, *own) if table.minor is not None}
    return PartsList(
        phrases=phrases,
        shorts=shorts,
        skeletons=skeletons,
        machines=found_on,
        minor=frozenset(name for name, is_minor in minor.items() if is_minor),
        defaults=_defaults(own, rest, found_on),
        mishearings=_mishearings(own, rest),
    )


def plain(text: str) -> str:
    """Bring typographic apostrophes and dashes to plain ones, keeping every character's place."""
    return text.replace("’", "'").replace("‘", "'").replace("–", "-").replace("—", "-")


def token_form(phrase: str) -> str:
    """A phrase as it is looked up: its words in lower case, one blank between them."""
    return " ".join(match.group().lower() for match in TOKEN_RE.finditer(plain(phrase)))


def spell_out(token: str, known: Collection[str], skeletons: Mapping[str, str]) -> str:
    """Write out shorthand that leaves the vowels away, unless it is `known` as it stands."""
    bare = token[:-1] if token.endswith("s") and len(token) > 3 else token
    if len(bare) < 3 or _VOWEL_RE.search(bare) or token in known:
        return token
    return skeletons.get(bare, token)


def _spell_phrase(phrase: str, known: Collection[str], skeletons: Mapping[str, str]) -> str:
    """The phrase as it is looked up in a text, whose shorthand is written out word by word."""
    return " ".join(spell_out(token, known, skeletons) for token in phrase.split())


def _as_parts(tables: Iterable[PartTable], shipped: Sequence[PartTable], machines: Collection[str]) -> Iterator[PartTable]:
    """The shop's tables under the names that their parts have in the shipped list; a new part with its machines."""
    listed = {token_form(table.name): table.name for table in shipped}
    for table in tables:
        if name := listed.get(token_form(table.name)):
            yield replace(table, name=name)
        else:
            yield replace(table, machines=table.machines or tuple(machines))


def _without_claimed(table: PartTable, sure: Mapping[str, str], vague: Mapping[str, Sequence[str]]) -> PartTable:
    """A shipped table without what the shop claims for other parts; a name that the shop uses as a short word is one here too."""

    def is_taken(words: str) -> bool:
        return sure.get(token_form(words), table.name) != table.name

    def is_shared(words: str) -> bool:
        return table.name not in vague.get(token_form(words), (table.name,))

    free = [words for words in table.also if not is_taken(words)]
    return replace(
        table,
        also=tuple(words for words in free if not is_shared(words)),
        short=tuple(words for words in (*table.short, *filter(is_shared, free)) if not is_taken(words)),
        heard=tuple(words for words in table.heard if not is_taken(words) and not is_shared(words)),
    )


def _phrases(own: Sequence[PartTable], rest: Sequence[PartTable]) -> dict[str, str]:
    """A name goes before a synonym, and all that the shop says before the shipped list."""
    phrases: dict[str, str] = {}
    for tables in (rest, own):
        synonyms: dict[str, str] = {}
        for table in tables:
            for words in table.also:
                synonyms.setdefault(token_form(words), table.name)
        phrases |= synonyms | {token_form(table.name): table.name for table in tables}
    return phrases


def _short_words(tables: Iterable[PartTable]) -> dict[str, tuple[str, ...]]:
    shorts: dict[str, dict[str, None]] = {}
    for table in tables:
        for words in table.short:
            shorts.setdefault(token_form(words), {})[table.name] = None
    return {word: tuple(names) for word, names in shorts.items()}


def _skeletons(own: Iterable[PartTable], rest: Iterable[PartTable]) -> dict[str, str]:
    """Consonants -> word, for the words of part names; what could stand for two words stands for neither.

    A shop's part leaves the shorthand of the shipped list as it is.
    """
    meant = _words_by_bones(own) | _words_by_bones(rest)
    return {bones: next(iter(found)) for bones, found in meant.items() if len(found) == 1 and len(bones) >= 3}


def _words_by_bones(tables: Iterable[PartTable]) -> dict[str, set[str]]:
    words = {word for table in tables for name in (table.name, *table.short) for word in token_form(name).split()}
    meant: dict[str, set[str]] = {}
    for word in words:
        if len(word) >= 4:
            meant.setdefault(word[0] + _VOWEL_RE.sub("", word[1:]), set()).add(word)
    return meant


def _machines_of(tables: Iterable[PartTable]) -> dict[str, frozenset[str]]:
    machines: dict[str, frozenset[str]] = {}
    for table in tables:
        machines[table.name] = machines.get(table.name, frozenset()) | {*table.machines}
    return machines


def _defaults(
    own: Sequence[PartTable], rest: Sequence[PartTable], found_on: Mapping[str, frozenset[str]]
) -> dict[tuple[str, str], str]:
    """What short words mean on each machine: by the shop's tables, then by the shipped ones.

    A short word of the shop's means its part on all machines of that part, if the table has no `default_for`.
    """
    defaults: dict[tuple[str, str], str] = {}

    def say(words: Iterable[str], machines: Iterable[str], name: str) -> None:
        for machine in machines:
            for word in words:
                defaults.setdefault((token_form(word), machine), name)

    for table in own:
        say(table.short, table.default_for or table.machines or sorted(found_on[table.name]), table.name)
    shorts = {table.name: table.short for table in rest}
    for table in own:
        say(shorts.get(table.name, ()), table.default_for, table.name)
    for table in rest:
        say(table.short, table.default_for, table.name)
    return defaults


def _mishearings(own: Sequence[PartTable], rest: Sequence[PartTable]) -> dict[str, str]:
    """What is heard for a part; a phrase of the shop's that holds such words stands as it is."""
    heard = {words.lower(): table.name for table in (*rest, *own) for words in table.heard}
    said = {words.lower() for table in own for words in (table.name, *table.also)}
    kept = {phrase for phrase in said if any(f" {words} " in f" {phrase} " for words in heard)}
    return {phrase: phrase for phrase in kept} | heard
