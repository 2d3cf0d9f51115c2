"""A shop's own list of parts as it is written: read, and held against what a list may say."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields

from kbindex.errors import SettingsError
from kbindex.reading.parts_list import LONGEST_PHRASE, PartTable, ShopParts, token_form

_KEYS = tuple(field.name for field in fields(PartTable))
_MACHINES = ("machines", "default_for")


def read_shop_parts(text: str, file: str, machines: Mapping[str, str]) -> ShopParts:
    """Read the text of a shop's list; `machines` gives each machine's name by what it is called, `file` is for messages.

    Raises:
        SettingsError: It is not TOML, or a table has no name, a key that is not known, a value that cannot be, or a phrase
            that another table claims for another part.
    """
    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{file} is not a TOML file ({error}); correct it, or take 'parts' out of the settings") from error
    if outside := sorted(given.keys() - {"part"}):
        raise SettingsError(f"{file}: '{outside[0]}' is in no table of a part; write [[part]] above it")
    listed = given.get("part", [])
    if not isinstance(listed, list) or not all(isinstance(table, dict) for table in listed):
        raise SettingsError(f"{file}: 'part' is not a list of tables; write [[part]] above each part, with two brackets")
    read = [_read_table(table, _Place(file, number, table.get("name")), machines) for number, table in enumerate(listed, 1)]
    _check_claims(read, file)
    return ShopParts(tuple(read))


class _Place:
    """Where a table stands, for messages."""

    def __init__(self, file: str, number: int, name: object) -> None:
        self._where = f"{file}: [[part]] table {number}" + (f" ('{name}')" if isinstance(name, str) and name.strip() else "")

    def error(self, problem: str) -> SettingsError:
        return SettingsError(f"{self._where} {problem}")


def _read_table(given: Mapping[str, object], place: _Place, machines: Mapping[str, str]) -> PartTable:
    if unknown := sorted(given.keys() - set(_KEYS)):
        raise place.error(f"has a key '{unknown[0]}', which is not known; the keys are {', '.join(_KEYS)}")
    name = given.get("name", "")
    if not isinstance(name, str):
        raise place.error(f'has a name that is no text ({name!r}); write it in quotes, as in name = "door latch"')
    if not token_form(name):
        raise place.error('has no name; give it one, as in name = "door latch"')
    minor = given.get("minor")
    if minor is not None and not isinstance(minor, bool):
        raise place.error(f"cannot have {minor!r} as 'minor'; write true or false")
    words = {key: _read_words(key, given.get(key, []), place) for key in _KEYS if key not in ("name", "minor")}
    for key in _MACHINES:
        words[key] = tuple(_name_machine(key, one, place, machines) for one in words[key])
    _check_phrases((name, *words["also"], *words["short"], *words["heard"]), place)
    return PartTable(name=" ".join(name.lower().split()), minor=minor, **words)


def _read_words(key: str, value: object, place: _Place) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise place.error(f"cannot have {value!r} as '{key}'; write a list of texts in quotes")
    return tuple(" ".join(one.split()) for one in value)


def _name_machine(key: str, words: str, place: _Place, machines: Mapping[str, str]) -> str:
    if name := machines.get(token_form(words)):
        return name
    known = ", ".join(sorted(set(machines.values())))
    raise place.error(f"names a machine '{words}' in '{key}', which is not known; the machines are {known}")


def _check_phrases(phrases: Iterable[str], place: _Place) -> None:
    for words in phrases:
        count = len(token_form(words).split())
        if not count:
            raise place.error(f"has '{words}' among its words, in which there is no word; take it out")
        if count > LONGEST_PHRASE:
            raise place.error(f"has '{words}', which is too long to be found; leave {LONGEST_PHRASE} words of it at most")


def _check_claims(tables: Sequence[PartTable], file: str) -> None:
    """See that no phrase is of two parts; a short word may be, if the tables name machines and none in common."""
    for words, one, other in _claimed_twice(tables):
        names = tables[one].name, tables[other].name
        if token_form(names[0]) != token_form(names[1]):
            raise SettingsError(
                f"{file}: '{words}' is claimed by [[part]] table {one + 1} ('{names[0]}') and table {other + 1} ('{names[1]}'); "
                "leave it in one of them (as 'short' it may be in both, if they name machines and none in common)"
            )


def _claimed_twice(tables: Sequence[PartTable]) -> Iterator[tuple[str, int, int]]:
    """Phrases with the places of the two tables that both have them, which may be of one part."""
    sure: dict[str, int] = {}
    for number, table in enumerate(tables):
        for words in (table.name, *table.also, *table.heard):
            yield words, sure.setdefault(token_form(words), number), number
    for number, table in enumerate(tables):
        for words in table.short:
            yield words, sure.get(token_form(words), number), number
            for earlier, other in enumerate(tables[:number]):
                if token_form(words) in map(token_form, other.short) and not _apart(table, other):
                    yield words, earlier, number


def _apart(one: PartTable, other: PartTable) -> bool:
    """Whether the machine always tells which of two parts a short word of both means."""
    meant_on = [{*(table.default_for or table.machines)} for table in (one, other)]
    return all(meant_on) and not meant_on[0] & meant_on[1]
