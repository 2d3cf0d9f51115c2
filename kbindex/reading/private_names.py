"""Finds customers' names: after titles and cue words, beside a phone or an address, in possessives, and by the lists of names.

Four grades of cue: after "Mrs" nearly any word is a name; after "her name is" any word that can be one; after "call" or
"customer:" a capitalised word that is nothing else; with no cue at all, only a word that is nothing but a name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import IntEnum

from kbindex.reading.private_words import WORD_RE, Chance, Span, bare, chance_of, is_capitalised, load_words


class Cue(IntEnum):
    """How surely a name follows."""

    LIKELY = 1
    FIELD = 2
    SURE = 3
    TITLE = 4


_PERSON = (
    r"(?:cust(?:omer)?|client|owner|home-?owner|tenant|renter|caller|contact|landlord|landlady|neighbou?r|husband|wife|son|daughter|super|"
    r"superintendent|janitor|caretaker|manager|keyholder|sister|brother|mother|father|mom|mum|dad|aunt|auntie|uncle|grandma|grandpa|"
    r"granny|nephew|niece|room-?mate|lady|gentleman|guy|fella|fellow|bloke|woman|man|girl|boy|kid|receptionist|secretary|housekeeper|nanny|friend|cousin|"
    r"partner|boyfriend|girlfriend|widow|residents?|occupant|couple|folks)"
)
_CUES: tuple[tuple[Cue, str], ...] = (
    (Cue.TITLE, r"(?<!\d )(?<!\d)\b(?:mr|mrs|ms|mister|missus|messrs|mme|mx)\b\.?(?:[ \t]*(?:and|&|\+|n|/)[ \t]*(?:mr|mrs|ms|dr|missus|mister)\b\.?)?"),
    (Cue.FIELD, r"\b(?:miss|misses|sir|madam|dame|lady|father|pastor|reverend|rev|judge|professor|prof|doctor|officer|sergeant|coach|captain|senator|deacon|rabbi|imam|nurse|herr|frau|señora?|sra|pani?|old|young)\b\.?"),
    (Cue.LIKELY, r"\b(?:dr|doc)\b\.?"),
    (Cue.SURE, r"(?<!brand )(?<!model )(?<!file )(?<!part )(?<!user )(?<!trade )(?<!street )\b(?:sur|last |first |family |given |full )?name(?:s|'s)?(?:[ \t]+(?:is|was)|[ \t]*[:=]|'s)(?![a-z])"),
    (Cue.SURE, r"\bname's"),
    (Cue.SURE, r"\b(?:named|by the name of|goes by|answers to|ask for|asking for|attn\.?|attention:|c/o|care of|signed by|signed for by|bill(?:ed)? to|invoice(?:d)? to|sold to|account of)"),
    (Cue.LIKELY, rf"\b{_PERSON}(?:'s)?(?:[ \t]+(?:is|was))?(?:[ \t]+(?:called|named)\b|(?: name)?[ \t]*[:=-]|,|[ \t]*\()?"),
    (Cue.FIELD, r"\b(?:call|ring|text|txt|phone|reach|contact|see|spoke (?:to|with)|speak (?:to|with)|talk(?:ed)? (?:to|with))"),
    (Cue.LIKELY, r"\b(?:told|tell|ask|asked|remind|reminded|email|e-mail|met|meet|for|from|with|w/|by|per|to|thanks|thank you|belongs to|promised|paid by|re:|over at|at|of)"),
    (Cue.FIELD, r"\b(?:family|residence of|home of|house of)"),
)  # fmt: skip
_CUE_RES = tuple((cue, re.compile(pattern + r"[ \t]{0,3}", re.IGNORECASE)) for cue, pattern in _CUES)
_PARTICLES = frozenset("de van von der den la le di da del della al el bin ter st mac o du dos".split())
_GAP_RE = re.compile(r"[ \t]{1,3}")
_COUPLE_RE = re.compile(r"[ \t]*(?:and|&|\+)[ \t]+", re.IGNORECASE)
_INITIAL_RE = re.compile(r"(?:[A-Z]\.?[ \t]?){1,2}(?![\w'])")
_VERB_OF_MISS = frozenset("don't dont to not you i we didn't never can't will would might could and won't they he she it or that if".split())
_NUMBER_NEXT_RE = re.compile(r"(?:'s)?[ \t]*(?:at|on|@|before|after|when|back|first|tomorrow|monday|tuesday|wednesday|thursday|friday|saturday|\d)", re.IGNORECASE)
_FIELD_END_RE = re.compile(r"[ \t]*(?:[,;()\d\n]|$)")

_HOME = r"(?:place|house|home|residence|flat|apartment|kitchen|basement|cellar|garage|condo|cottage|laundry|job|account|call|ticket|family|household)"
_MACHINE = (
    r"(?:dryers?|washers?|dishwashers?|fridges?|refrigerators?|freezers?|ranges?|ovens?|stoves?|cooktops?|microwaves?|disposers?|disposals?|"
    r"ice[ \t-]?makers?|vacuums?|machines?|units?|furnaces?|water[ \t]heaters?|boilers?|hoods?|compactors?|coolers?|a/?c|dw|washing|tumble|coffee|top|front)"
)
_OWNED_RE = re.compile(rf"(?<![\w'-])(?P<name>[^\W\d_][\w-]+?)(?:'s|s'|s)[ \t]+(?:(?:old|new|other|big|little|gas|electric|upright|chest)[ \t]+)?(?:{_HOME}|{_MACHINE})\b")
_FAMILY_RE = re.compile(r"(?<![\w'-])(?P<name>[^\W\d_][\w'-]+)[ \t]+(?:family|residence|household|sisters|brothers|twins)\b")
_SAYS_RE = re.compile(
    r"[ \t]+(?:says?|said|called|calls|rang|wants?|wanted|phoned|texted|told|thinks|lives|paid|pays|swears|reports|reported|claims|complains|noticed|emailed|wrote|asked|asks|heard|hears|mentioned)\b"
)
_BESIDE_RE = re.compile(r"[ \t]*(?:[,:;(/|-]|@|\b(?:at|on|tel|ph|phone|cell|mobile|mob|home|work|lives|live|of|no|number|is|email)\b\.?)?[ \t:.]*$", re.IGNORECASE)


def find_names(text: str, contacts: Sequence[Span]) -> list[Span]:
    """Find customers' names; `contacts` are the places of phones, addresses and e-mails, beside which names stand."""
    cued = [*_find_cued(text), *_find_beside(text, contacts), *_find_owners(text)]
    known = {bare(word) for start, end in cued for word in WORD_RE.findall(text[start:end]) if len(word) > 2}
    return cued + list(_find_bare(text, frozenset(word for word in known if chance_of(word) > Chance.NEVER)))


def _find_cued(text: str) -> Iterator[Span]:
    for cue, pattern in _CUE_RES:
        for match in pattern.finditer(text):
            at = match.end()
            if at == match.start() or (text[at - 1].isalnum() and at < len(text)):
                continue
            end = _name_end(text, at, _adjusted(text, match, cue))
            if end > at:
                yield at, end


def _adjusted(text: str, match: re.Match[str], cue: Cue) -> Cue:
    """ "Don't miss the screw", "it misses a beat": no titles."""
    word = match.group().strip().lower()
    if word in ("miss", "misses"):
        before = re.search(r"([\w']+)[ \t]+$", text[max(0, match.start() - 16) : match.start()])
        return Cue.LIKELY if before and before.group(1).lower() in _VERB_OF_MISS else cue
    if re.match(_PERSON, word) and word.endswith(("called", "named", ":", "=", "-")):
        return Cue.SURE if word.endswith("ed") else Cue.FIELD
    return Cue.LIKELY if word in ("old", "young", "lady", "father", "sir", "coach", "captain", "nurse", "judge") else cue


def _name_end(text: str, start: int, cue: Cue) -> int:
    """Where the name that starts here ends; `start` itself where none does."""
    end, given, words = start, False, 0
    initial = _INITIAL_RE.match(text, start)
    if initial and (cue >= Cue.FIELD or WORD_RE.match(text, initial.end())) and text[start] not in "AI":
        gap_end = initial.end()
        follow = WORD_RE.match(text, gap_end)
        if follow and text[gap_end - 1] in " \t" and is_capitalised(follow.group()) and chance_of(follow.group()) >= Chance.BOTH:
            end, words = _without_possessive(follow), 1
        elif cue >= Cue.FIELD:
            return start + len(initial.group().rstrip())
        else:
            return start
    else:
        first = WORD_RE.match(text, start)
        if first is None or not _opens_name(text, first, cue):
            if cue is Cue.TITLE and first and first.group().lower() in "bcdefghjklmnopqrstuvwxyz" and len(first.group()) == 1:
                return first.end()
            return start
        end, words = _without_possessive(first), 1
        given = bare(first.group()) in load_words().given
    while words < 4 and end < len(text):
        longer, given = _longer(text, end, cue, given)
        if longer == end:
            break
        end, words = longer, words + 1
    return end


def _opens_name(text: str, word: re.Match[str], cue: Cue) -> bool:
    """Whether a word after a cue is the first of a name."""
    chance, capital = chance_of(word.group()), is_capitalised(word.group())
    lower = bare(word.group())
    if lower in _PARTICLES and cue >= Cue.FIELD and (follow := WORD_RE.match(text, word.end() + 1)):
        return chance_of(follow.group()) >= (Chance.BOTH if is_capitalised(follow.group()) else Chance.UNKNOWN)
    if chance is Chance.NEVER:  # "ask for Will", "call Will at"
        sure = cue is Cue.SURE or (cue is Cue.FIELD and _NUMBER_NEXT_RE.match(text, word.end()) is not None)
        return capital and sure and lower in load_words().given
    if cue is Cue.TITLE:
        return capital or chance >= Chance.BOTH or len(lower) > 2
    if capital and cue is Cue.SURE:
        return len(lower) > 1
    least = Chance.BOTH if capital or cue is Cue.SURE else Chance.UNKNOWN
    if not capital and cue is Cue.FIELD:
        if chance is Chance.BOTH:
            return _NUMBER_NEXT_RE.match(text, word.end()) is not None and lower in load_words().given
        if chance is Chance.UNKNOWN and not word.group().isupper():
            return _FIELD_END_RE.match(text, word.end()) is not None or _NUMBER_NEXT_RE.match(text, word.end()) is not None or _titled(text, word)
    if not capital and cue is Cue.LIKELY:
        least = Chance.SURE
    if capital and cue is Cue.LIKELY and chance is Chance.BOTH and _is_date_or_tool(text, word):
        return False
    return chance >= least


def _titled(text: str, word: re.Match[str]) -> bool:
    """Whether a title such as "miss" or "pastor", or "family", stands before the word."""
    return re.search(r"\b(?:miss|misses|pastor|reverend|rev|professor|prof|doctor|rabbi|deacon|family|frau|herr|ask for)\.?[ \t]+$", text[max(0, word.start() - 14) : word.start()], re.IGNORECASE) is not None


def _is_date_or_tool(text: str, word: re.Match[str]) -> bool:
    """ "By May 5", "with Phillips screws", "for Mark to see": words that only look like names."""
    follow = re.match(r"[ \t]+(?:\d|(?P<next>[A-Za-z']+))", text[word.end() : word.end() + 20])
    if follow is None:
        return bare(word.group()) in ("may", "april", "june", "august", "phillips", "torx", "allen")
    return follow.group("next") is None or chance_of(follow.group("next")) is Chance.EVERYDAY


def _longer(text: str, end: int, cue: Cue, given: bool) -> tuple[int, bool]:
    """One more word of a name that already runs to `end`: its new end, and whether that word was a given name."""
    couple = _COUPLE_RE.match(text, end)
    if couple and (word := WORD_RE.match(text, couple.end())):
        chance, lower = chance_of(word.group()), bare(word.group())
        if (is_capitalised(word.group()) and chance >= Chance.BOTH) or chance is Chance.SURE:
            return _without_possessive(word), lower in load_words().given
        return end, False
    gap = _GAP_RE.match(text, end)
    if gap is None:
        return end, False
    initial = re.compile(r"[A-Z](?:\.|(?![\w'-]))").match(text, gap.end())
    if initial and initial.group()[0] not in "AI":
        return initial.end(), given
    word = WORD_RE.match(text, gap.end())
    if word is None:
        return end, False
    return (_without_possessive(word), False) if _goes_on(text, word, cue, given) else (end, False)


def _goes_on(text: str, word: re.Match[str], cue: Cue, given: bool) -> bool:
    chance, lower = chance_of(word.group()), bare(word.group())
    if lower in _PARTICLES and (follow := WORD_RE.match(text, word.end() + 1)):
        return chance_of(follow.group()) >= Chance.UNKNOWN
    if is_capitalised(word.group()) and chance >= Chance.BOTH:
        return True
    if chance is Chance.SURE:
        return True
    if chance is Chance.BOTH:
        return given and cue >= Cue.SURE and lower in load_words().surnames
    return chance is Chance.UNKNOWN and given and not lower.endswith(("ed", "ing", "ly"))


def _without_possessive(word: re.Match[str]) -> int:
    return word.end() - (2 if word.group().lower().endswith("'s") else 0)


def _find_beside(text: str, contacts: Sequence[Span]) -> Iterator[Span]:
    """Find "Nadine Vasko 555-0117", "Lem Hathersage, 5 Dory Ct", "555-0187 (Dev)"."""
    for start, end in contacts:
        line_start = max(text.rfind("\n", 0, start) + 1, start - 60)
        beside = _BESIDE_RE.search(text, line_start, start)
        first = last = beside.start() if beside else start
        words = [word for word in WORD_RE.finditer(text, line_start, last)]
        for word in reversed(words[-4:]):
            between = text[word.end() : first]
            if between.strip(" \t.") or (between.strip() and len(word.group()) > 1) or not _stands_beside(word):
                break
            first = word.start()
        if first < last and any(chance_of(word.group()) >= Chance.BOTH for word in words if word.start() >= first):
            yield first, last
        after = re.compile(r"[ \t]*[,(/-]?[ \t]*(?:ask for[ \t]+)?(?=[A-Z])").match(text, end)
        if after and (word := WORD_RE.match(text, after.end())) and is_capitalised(word.group()) and chance_of(word.group()) >= Chance.UNKNOWN:
            yield word.start(), _name_end(text, word.start(), Cue.LIKELY)


def _stands_beside(word: re.Match[str]) -> bool:
    chance = chance_of(word.group())
    if is_capitalised(word.group()):
        return chance >= Chance.BOTH or len(word.group()) == 1
    return chance is Chance.SURE or (chance is Chance.UNKNOWN and not word.group().isupper())


def _find_owners(text: str) -> Iterator[Span]:
    """Find "Tilbrook's dryer", "the Tilbrooks' place", "the Lowell sisters"."""
    for match in _OWNED_RE.finditer(text):
        name = match.group("name")
        chance = chance_of(name)
        marked = "'" in text[match.end("name") : match.end("name") + 2]
        if not marked and chance_of(name + "s") < Chance.UNKNOWN:
            continue
        if is_capitalised(name) and chance >= (Chance.BOTH if marked else Chance.UNKNOWN) or chance is Chance.SURE:
            yield match.start("name"), match.end("name") + (text[match.end("name") : match.end("name") + 2] == "s'")
        elif chance is Chance.UNKNOWN and re.search(rf"(?:'s|s'|s)[ \t]+{_HOME}$", match.group()):
            yield match.start("name"), match.end("name") + (0 if marked else 1)
    for match in _FAMILY_RE.finditer(text):
        chance = chance_of(match.group("name"))
        if chance >= (Chance.BOTH if is_capitalised(match.group("name")) or text[: match.start()].lower().endswith(("the ", "for ")) else Chance.UNKNOWN):
            yield match.span("name")


def _find_bare(text: str, known: frozenset[str]) -> Iterator[Span]:
    """Find words that are nothing but names, names seen elsewhere in the same text, and full names."""
    before: re.Match[str] | None = None
    for word in WORD_RE.finditer(text):
        chance, capital = chance_of(word.group()), is_capitalised(word.group())
        lower = bare(word.group())
        adjacent = before is not None and text[before.end() : word.start()] in (" ", ". ", ".")
        if chance >= Chance.BOTH and _is_bare_name(text, word, before if adjacent else None, known):
            start = word.start()
            if adjacent and before and _joins_left(before):
                start = before.start()
            end, given = _without_possessive(word), lower in load_words().given
            for _ in range(2):
                longer, given = _longer(text, end, Cue.LIKELY, given and chance is Chance.SURE)
                if longer == end:
                    break
                end = longer
            yield start, end
        elif lower in known and capital and chance > Chance.NEVER:
            yield word.start(), _without_possessive(word)
        before = word


def _is_bare_name(text: str, word: re.Match[str], before: re.Match[str] | None, known: frozenset[str]) -> bool:
    chance, capital, lower = chance_of(word.group()), is_capitalised(word.group()), bare(word.group())
    if lower in known and (capital or chance >= Chance.UNKNOWN):
        return True
    if chance is Chance.SURE:
        return len(lower) > 3 or capital
    if not capital:
        return False
    if before is not None and len(before.group()) == 1 and before.group().isupper() and text[before.end()] == "." and before.group() not in "AI":
        return True
    if before is not None and is_capitalised(before.group()) and len(before.group()) > 1:
        first = bare(before.group())
        if first in load_words().given and (chance is Chance.UNKNOWN or lower in load_words().surnames):
            return True
    return chance is Chance.UNKNOWN and _SAYS_RE.match(text, word.end()) is not None


def _joins_left(before: re.Match[str]) -> bool:
    if not is_capitalised(before.group()):
        return False
    return chance_of(before.group()) >= Chance.UNKNOWN or bare(before.group()) in load_words().given or (len(before.group()) == 1 and before.group() not in "AI")
