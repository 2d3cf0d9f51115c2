"""Finds customers' names in the heading of a note, where no cue word leads to them: "5129 Orr smooth top", "Tull again".

In a heading stand the machine, its place in the house, a number, a date, and who: a word that is no word of the language,
no shorthand of the trade and no misspelling of it is who. In text of capitals alone, and of none, capitals say nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache, lru_cache

from kbindex.reading.private_words import WORD_RE, Chance, Span, bare, chance_of, is_capitalised, load_words
from kbindex.reading.soundalikes import sound_key

_LINES, _LONGEST_LINE = 3, 150
_SHORT_TEXT = 160
"""A text of one line is a heading (or a cell of a table) when it is no longer than so many signs."""

_DATES = frozenset(
    "january february march april may june july august september october november december jan feb mar apr jun jul aug sep sept oct nov "
    "dec monday tuesday wednesday thursday friday saturday sunday mon tue tues wed weds thu thur thurs fri sat sun summer winter spring".split()
)
_OF_THINGS = frozenset(
    "brown black white green gray grey red blue silver gold long short sharp small strong young old sweet frost rust moss burns wells snow rain "
    "rice waters bank banks marks bolt bolts case cook nick grant chip rob art dial".split()
)
"""Names that alone in a cell, or between two stops, tell of a thing sooner than of a person."""

_CAPITALISED_RE = re.compile(r"\b(?!I['\s])[A-Z][a-z]")
_OF_A_THING = frozenset("the a an in new own shock".split())
_BROKEN_RE = re.compile(r" (?:a|er|or|her|ter)\b")
"""What stands before a word that a recogniser broke off a part's name ("in duction", "the invert a"), and after it."""

_LABELS = frozenset(
    "mr mrs ms mister missus miss dr doc doctor fr father sister brother rev reverend maj sgt capt mme señor señora owner manager mgr contact "
    "customer cust client tenant landlord landlady caller attn name ask apt unit ct st rd ln ave lane road street court drive row for".split()
)
"""Words that lead to a name, or follow one, and are none."""

_JOINED_RE = re.compile(r"[ \t]|\.[ \t]?|(?<=[A-Z])\.")
_COUPLE_RE = re.compile(r"[ \t]{0,2}(?:\+|&|and|AND)[ \t]{1,2}$")
_INITIAL_RE = re.compile(r"(?<![\w'.])(?:(?:[A-Z]\.[ \t]?){1,2}|[B-HJ-Z][ \t])$")
_NO_NAME_AFTER_RE = re.compile(r"[ \t]?[?!]|[ \t]\d{1,2}(?!\d)")
_INITIALLED_RE = re.compile(
    r"(?<![\w'./-])[A-Z]\.[ \t]?(?:[A-Z]\.[ \t]?)?(?P<name>[A-Z][\w'-]{1,30})(?=[ \t]*(?:[,;:/()|\n\d-]|$|[ \t]{2}))"
)
_WHO_AT_RE = re.compile(r"[ \t]+(?:at|from|over at|down at|by|in)[ \t]+(?:the|his|her|their)\b", re.IGNORECASE)


class Case(Enum):
    """What capitals say in a text."""

    MIXED = "mixed"
    SHOUTED = "shouted"
    PLAIN = "plain"


def case_of(text: str) -> Case:
    """Whether a text is written with capitals where names start, in capitals alone, or with none."""
    if sum(map(str.isupper, text)) > 2 * sum(map(str.islower, text)):
        return Case.SHOUTED
    return Case.MIXED if _CAPITALISED_RE.search(text) else Case.PLAIN


@dataclass(frozen=True)
class _Run:
    """Words that only blanks part, between the signs that part what a heading tells."""

    words: tuple[re.Match[str], ...]
    first_line: bool


def find_heading_names(text: str) -> Iterator[Span]:
    """Find names in the first lines of a note, in its headings, and alone in a cell of a table."""
    lone = "\n" not in text.strip()
    if lone and len(text) > _SHORT_TEXT:
        return
    lines = list(_heading_lines(text))
    zone = case_of("\n".join(text[start:end] for start, end, _ in lines))
    for start, end, first in lines:
        case = case_of(text[start:end])
        if case is Case.PLAIN and zone is not Case.PLAIN:
            case = Case.MIXED  # in a note with capitals a name has one
        for run in _runs(text, start, end, first=first):
            yield from _names_of_run(text, run, case, lone)
        for match in _INITIALLED_RE.finditer(text, start, end):
            if chance_of(match.group("name")) > Chance.NEVER and not is_of_trade(match.group("name")):
                yield match.span()


def _heading_lines(text: str) -> Iterator[tuple[int, int, bool]]:
    """Start and end of each line that may tell who, and whether it is the first."""
    seen = start = 0
    for line in text.split("\n"):
        told = bool(line.strip(" \t#*-"))
        if told and (seen < _LINES or line.startswith("#")):
            end = len(line) if len(line) <= _LONGEST_LINE else line.rfind(" ", 0, _LONGEST_LINE)
            yield start, start + max(end, 0), seen == 0
        seen += told
        start += len(line) + 1


def _runs(text: str, start: int, end: int, *, first: bool) -> Iterator[_Run]:
    words: list[re.Match[str]] = []
    for word in WORD_RE.finditer(text, start, end):
        if words and _is_parted(text, words[-1], word):
            yield _Run(tuple(words), first)
            words = []
        words.append(word)
    if words:
        yield _Run(tuple(words), first)


def _is_parted(text: str, last: re.Match[str], word: re.Match[str]) -> bool:
    """Whether more than a blank stands between two words; the stop of an initial does not count."""
    between = text[last.end() : word.start()]
    return not _JOINED_RE.fullmatch(between) or ("." in between and len(last.group()) > 2)


def _names_of_run(text: str, run: _Run, case: Case, lone: bool) -> Iterator[Span]:
    if _is_all_name(text, run, case, lone):
        yield _with_others(text, run.words[0].start()), _end(run.words[-1])
        return
    first = run.words[0]
    known = bare(first.group()) in load_words().given or _stands_out(first.group(), case)
    if case is Case.SHOUTED and known and _WHO_AT_RE.match(text, first.end()):
        yield first.span()
    if lone:
        return
    for place, word in enumerate(run.words):
        opens = place == 0 and not run.first_line and len(run.words) > 1
        if _stands_out(word.group(), case) and not (
            opens and case is Case.MIXED and chance_of(word.group()) is not Chance.SURE
        ):
            yield _with_others(text, word.start()), _end(word)


def _is_all_name(text: str, run: _Run, case: Case, lone: bool) -> bool:
    """Whether words between two signs are nothing but a name: ", Orr,", "/ Jock Castellanos /", "(D. Oakes)"."""
    words = [word.group() for word in run.words]
    if len(words) > 4 or any(_is_other(word, case) for word in words):
        return False
    if any(_stands_out(word, case) for word in words):
        return len(words) < (3 if lone else 4) or all(chance_of(word) >= Chance.BOTH for word in words)
    by_name = all(len(word) == 1 or _may_be_name(word) for word in words) and len(words[-1]) > 1
    return case is Case.MIXED and by_name and not _NO_NAME_AFTER_RE.match(text, run.words[-1].end())


def _is_other(word: str, case: Case) -> bool:
    """Whether a word of a heading is surely no part of a name."""
    if len(word) == 1:
        return not word.isupper() or word in "AI"
    least = Chance.BOTH if case is Case.PLAIN else Chance.EVERYDAY
    if bare(word) in _DATES or bare(word) in _LABELS or chance_of(word) < least or tells_of_thing(word):
        return True
    return not _has_case(word, case)


def _has_case(word: str, case: Case) -> bool:
    """Whether a word is written as names are in a text of this case."""
    return is_capitalised(word) if case is Case.MIXED else word.isupper() if case is Case.SHOUTED else word.islower()


def _may_be_name(word: str) -> bool:
    return len(word) > 2 and chance_of(word) is Chance.BOTH


def tells_of_thing(word: str) -> bool:
    """Whether a word that may be a name is said of machines more often: "frost", "brown", "bolt"."""
    return bare(word) in load_words().heading or bare(word) in _OF_THINGS


def _stands_out(word: str, case: Case) -> bool:
    """Whether a word of a heading can only be a name."""
    if len(word) < 3 or bare(word) in _DATES or chance_of(word) < Chance.UNKNOWN and not _is_short_name(word):
        return False
    if not _has_case(word, case):
        return False
    return chance_of(word) is Chance.SURE or not is_of_trade(word)


def _is_short_name(word: str) -> bool:
    """Whether a word is a name of three letters that is no word of the language: "Orr"."""
    return len(word) == 3 and chance_of(word) is Chance.BOTH and bare(word) not in load_words().everyday


def _with_others(text: str, start: int) -> int:
    """Take in initials ("G. Abruzzo") and the other one of a couple ("Bud + Lorraine") before a name."""
    initial = _INITIAL_RE.search(text, max(0, start - 6), start)
    if initial:
        start = initial.start()
    couple = _COUPLE_RE.search(text, max(0, start - 7), start)
    if couple:
        before = re.search(r"[^\W\d_]{2,20}$", text[max(0, couple.start() - 20) : couple.start()])
        if before and chance_of(before.group()) >= Chance.BOTH:
            start = couple.start() - len(before.group())
    return start


def _end(word: re.Match[str]) -> int:
    return word.end() - (2 if word.group().lower().endswith("'s") else 0)


@lru_cache(maxsize=5_000)
def is_of_trade(word: str) -> bool:
    """Whether a word is a machine, a part or a place in a house cut short or misspelt: "refrig", "compreser", "upstiars"."""
    lower = bare(word)
    if "-" in lower:
        return any(is_of_trade(part) for part in lower.split("-") if len(part) > 3)
    bones = _skeleton(lower)
    if len(bones) > 2 and any(_is_misspelt(lower, bones, one) for one in _skeletons().get(bones, ())):
        return True
    if any(one[1:3] == lower[1:3] and abs(len(one) - len(lower)) < 2 for one in _sounds().get(sound_key(lower), ())):
        return True
    return len(lower) > 3 and any(one.startswith(lower) for one in load_words().heading)


def _skeleton(word: str) -> str:
    """First letter and consonants, doubled ones once: what misspelling and shorthand leave of a word."""
    kept = word[:1] + re.sub("[aeiouy]", "", word[1:].replace("gh", "").replace("ck", "k"))
    return re.sub(r"(.)\1+", r"\1", kept)


@cache
def _skeletons() -> dict[str, list[str]]:
    return _sorted_by(_skeleton)


@cache
def _sounds() -> dict[str, list[str]]:
    return _sorted_by(sound_key)


def _sorted_by(key: Callable[[str], str]) -> dict[str, list[str]]:
    """The words that headings are made of, by what they are told by."""
    words: dict[str, list[str]] = {}
    for word in load_words().heading:
        words.setdefault(key(word), []).append(word)
    return words


def _is_misspelt(word: str, bones: str, meant: str) -> bool:
    """Consonants are shared by many words: the start counts too, and of few ones the length: "Skeat" is no socket."""
    return word[:2] == meant[:2] and (len(bones) > 3 or abs(len(word) - len(meant)) < 2)


def is_among_words(text: str, word: re.Match[str], before: re.Match[str] | None, case: Case) -> bool:
    """Whether a word that is none of the language stands in a sentence as a name does.

    With a capital after a word without one; in captions without capitals any such word, unless it ends as verbs do or looks
    like part of a part's name that was misheard.
    """
    if len(word.group()) < 4 or is_of_trade(word.group()) or text[word.end() : word.end() + 1] in ("-", "/"):
        return False
    if case is Case.PLAIN and "\n" not in text and len(text) > _SHORT_TEXT:
        led = before is not None and before.group() in _OF_A_THING
        broken = _BROKEN_RE.match(text, word.end()) is not None
        return len(word.group()) > 4 and not (led or broken or word.group().endswith(("ed", "ing", "ly")))
    if case is not Case.MIXED or before is None or not is_capitalised(word.group()):
        return False
    after_name = is_capitalised(before.group()) and chance_of(before.group()) is Chance.UNKNOWN
    return (before.group().islower() or after_name) and text[before.end() : word.start()] in (" ", ", ")


def names_alike(names: Sequence[str]) -> frozenset[str]:
    """Names with and without the s of a family: "the Castellanos" are who "Castellano" is."""
    return (
        frozenset(names)
        | {name + "s" for name in names}
        | {name[:-1] for name in names if len(name) > 5 and name.endswith("s")}
    )
