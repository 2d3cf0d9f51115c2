"""How far a person's name runs: which word after a cue can open one, and which words go on with it.

Four grades of cue: after "Mrs" nearly any word is a name; after "her name is" any word that can be one; after "call" or
"customer:" a word that is nothing else; after "for" or "the customer" only a capitalised word, or one that is always a name.
"""

from __future__ import annotations

import re
from enum import IntEnum

from kbindex.reading.private_words import WORD_RE, Chance, bare, chance_of, compile_bounded, is_capitalised, load_words


class Cue(IntEnum):
    """How surely a name follows."""

    LIKELY = 1
    FIELD = 2
    SURE = 3
    TITLE = 4


_PARTICLE_RE = compile_bounded("de|van|von|der|den|la|le|di|da|del|della|al|el|bin|ter|st|mac|o|du|dos")
_GAP_RE = compile_bounded(r"[ \t]{1,3}")
_COUPLE_RE = compile_bounded(r"[ \t]*(?:and|&|\+)[ \t]+", re.IGNORECASE)
_INITIALS_RE = compile_bounded(r"(?![AI]\b)(?:[A-Z]\.?[ \t]?){1,2}(?![\w'-])")
_INITIAL_RE = compile_bounded(r"(?![AI]\b)[A-Z](?:\.|(?![\w'-]))")
_LETTERED_RE = compile_bounded(r"[A-Z]-[A-Z][a-z]{1,12}")
_NUMBER_NEXT_RE = compile_bounded(
    r"(?:'s)?[ \t]*(?:at|on|@|before|after|when|back|first|tomorrow|monday|tuesday|wednesday|thursday|friday|saturday|\d)",
    re.IGNORECASE,
)
_FIELD_END_RE = compile_bounded(r"[ \t]*(?:[,;()\d\n]|$)")
_TITLES = "miss|misses|pastor|reverend|rev|professor|prof|doctor|rabbi|deacon|family|frau|herr"
_TITLE_BEFORE_RE = compile_bounded(rf"\b(?:{_TITLES})\.?[ \t]+$", re.IGNORECASE)
_LED_TO_RE = compile_bounded(
    rf"\b(?:{_TITLES}|ask for|talk(?:ed)? (?:to|with)|spoke (?:to|with)|is|was)\.?[ \t]+$", re.IGNORECASE
)


def name_end(text: str, start: int, cue: Cue) -> int:
    """Where the name that starts here ends; `start` itself where none does."""
    end, given = _first_word(text, start, cue)
    if end > start:
        for _ in range(3):
            end, given = grow(text, end, cue, given)
    return end


def _first_word(text: str, start: int, cue: Cue) -> tuple[int, bool]:
    """The end of a name's first word or initials, and whether it is a given name."""
    initials = _INITIALS_RE.match(text, start)
    if initials:
        return _after_initials(text, initials, cue), False
    word = WORD_RE.match(text, start)
    if word and _opens_name(text, word, cue):
        return without_possessive(word), bare(word.group()) in load_words().given
    if word and cue is Cue.TITLE and len(word.group()) == 1 and (word.group().isupper() or word.group() not in "ai"):
        return word.end(), False
    return start, False


def _after_initials(text: str, initials: re.Match[str], cue: Cue) -> int:
    """ "R. Quill" is a name after any cue, "R." alone only after a strong one."""
    gap = _GAP_RE.match(text, initials.end())
    word = WORD_RE.match(text, gap.end() if gap else initials.end())
    least = Chance.EVERYDAY if "." in initials.group() else Chance.BOTH
    apart = gap is not None or initials.group()[-1] in ". \t"
    if word and apart and is_capitalised(word.group()) and chance_of(word.group()) >= least:
        return without_possessive(word)
    return initials.start() + (len(initials.group().rstrip()) if cue >= Cue.FIELD else 0)


def _opens_name(text: str, word: re.Match[str], cue: Cue) -> bool:
    """Whether a word after a cue is the first of a name."""
    chance, lower = chance_of(word.group()), bare(word.group())
    if cue >= Cue.FIELD and (follow := _after_particles(text, word)):
        return chance_of(follow.group()) >= (Chance.BOTH if is_capitalised(follow.group()) else Chance.UNKNOWN)
    if cue >= Cue.FIELD and _LETTERED_RE.fullmatch(word.group()):  # "everybody says T-Boy"
        return True
    if chance is Chance.NEVER:  # "ask for Will", "call Will at"
        sure = cue is Cue.SURE or (cue is Cue.FIELD and _NUMBER_NEXT_RE.match(text, word.end()) is not None)
        return sure and is_capitalised(word.group()) and lower in load_words().given
    if is_capitalised(word.group()):
        return _opens_in_capital(text, word, cue)
    if cue is Cue.TITLE:
        return chance >= Chance.BOTH or len(lower) > 2
    if cue is Cue.FIELD:
        return _opens_in_field(text, word)
    if cue is Cue.SURE and chance is Chance.EVERYDAY:  # "the man there is called prosper achterberg"
        return (follow := WORD_RE.match(text, word.end() + 1)) is not None and chance_of(follow.group()) >= Chance.UNKNOWN
    return chance >= (Chance.BOTH if cue is Cue.SURE else Chance.SURE)


def _after_particles(text: str, word: re.Match[str]) -> re.Match[str] | None:
    """The family name after "van der" or "de la"; None where the word is no such particle."""
    follow: re.Match[str] | None = word
    for _ in range(3):
        if follow is None or not _PARTICLE_RE.fullmatch(bare(follow.group())):
            break
        follow = WORD_RE.match(text, follow.end() + 1)
    return None if follow is word else follow


def _opens_in_capital(text: str, word: re.Match[str], cue: Cue) -> bool:
    chance = chance_of(word.group())
    if cue >= Cue.SURE:
        return cue is Cue.TITLE or len(word.group()) > 1
    return chance >= Chance.BOTH and not (cue is Cue.LIKELY and chance is Chance.BOTH and _is_date_or_tool(text, word))


def _opens_in_field(text: str, word: re.Match[str]) -> bool:
    """ "Cust: tilbrook, washer", "call bill at": in lower case what follows has to fit."""
    chance = chance_of(word.group())
    reached = _NUMBER_NEXT_RE.match(text, word.end()) is not None
    if chance is Chance.BOTH:
        named = bare(word.group()) in load_words().given or _TITLE_BEFORE_RE.search(
            text[max(0, word.start() - 12) : word.start()]
        )
        return reached and bool(named)
    if chance is Chance.UNKNOWN and not word.group().isupper():
        titled = _LED_TO_RE.search(text[max(0, word.start() - 16) : word.start()]) is not None
        return reached or titled or _FIELD_END_RE.match(text, word.end()) is not None
    return chance >= Chance.UNKNOWN


def _is_date_or_tool(text: str, word: re.Match[str]) -> bool:
    """ "By May 5", "with Phillips screws", "for Mark to see": words that only look like names."""
    follow = re.match(r"[ \t]+(?:\d|(?P<next>[A-Za-z']+))", text[word.end() : word.end() + 20])
    if follow is None:
        return re.fullmatch("may|april|june|august|phillips|torx|allen", bare(word.group())) is not None
    return follow.group("next") is None or chance_of(follow.group("next")) is Chance.EVERYDAY


def grow(text: str, end: int, cue: Cue, given: bool) -> tuple[int, bool]:
    """One more word of a name that runs to `end`: its new end (the old one if none), and whether that word is a given name."""
    couple = _COUPLE_RE.match(text, end)
    if couple and (word := WORD_RE.match(text, couple.end())):
        least = Chance.BOTH if is_capitalised(word.group()) else Chance.SURE
        return (
            (without_possessive(word), bare(word.group()) in load_words().given)
            if chance_of(word.group()) >= least
            else (end, False)
        )
    gap = _GAP_RE.match(text, end)
    if gap is None:
        return end, False
    if initial := _INITIAL_RE.match(text, gap.end()):
        return initial.end(), given
    word_after = WORD_RE.match(text, gap.end())
    goes_on = word_after is not None and _goes_on(text, word_after, cue, given)
    return (without_possessive(word_after), False) if goes_on and word_after else (end, False)


def _goes_on(text: str, word: re.Match[str], cue: Cue, given: bool) -> bool:
    """Whether a word after part of a name belongs to it; `given` where that part is a given name."""
    chance, lower = chance_of(word.group()), bare(word.group())
    if follow := _after_particles(text, word):
        return chance_of(follow.group()) >= Chance.UNKNOWN
    if chance is Chance.SURE or (is_capitalised(word.group()) and chance >= Chance.BOTH):
        return True
    if chance is Chance.BOTH:
        return given and cue >= Cue.SURE and lower in load_words().surnames
    if chance is Chance.EVERYDAY:  # "Customer: Zebediah Crumb"
        return given and cue >= Cue.FIELD and is_capitalised(word.group())
    return chance is Chance.UNKNOWN and (given or cue >= Cue.FIELD) and not lower.endswith(("ed", "ing", "ly"))


def without_possessive(word: re.Match[str]) -> int:
    """The end of a word, or of what stands before its 's."""
    return word.end() - (2 if word.group().lower().endswith("'s") else 0)
