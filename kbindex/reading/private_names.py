"""Finds customers' names: after titles and cue words, beside a phone or an address, in possessives, and by the lists of names.

With no cue at all only a word that is nothing but a name counts, or one that was told to be a name elsewhere in the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from kbindex.reading.private_headings import (
    Case,
    case_of,
    find_heading_names,
    is_among_words,
    is_of_trade,
    names_alike,
    tells_of_thing,
)
from kbindex.reading.private_name_rules import Cue, grow, name_end, without_possessive
from kbindex.reading.private_words import WORD_RE, Chance, Span, bare, chance_of, compile_bounded, is_capitalised, load_words

_PERSONS = (
    "customer|cust|client|homeowner|home-owner|owner|tenant|renter|caller|contact|landlord|landlady|neighbor|neighbour|husband|wife|son|"
    "daughter|superintendent|super|janitor|caretaker|manager|keyholder|sister|brother|mother|father|mom|mum|dad|auntie|aunt|uncle|"
    "grandma|grandpa|granny|nephew|niece|roommate|room-mate|lady|gentleman|guy|fella|fellow|bloke|woman|man|girl|boy|kid|receptionist|"
    "secretary|housekeeper|nanny|friend|cousin|partner|boyfriend|girlfriend|widow|residents|resident|occupant|couple|folks"
)
_PERSON = f"(?:{_PERSONS})"
_CUES: tuple[tuple[Cue, str], ...] = (
    (Cue.TITLE, r"(?<!\d )(?<!\d)\b(?:mr|mrs|ms|mister|missus|messrs|mme|mx)\b\.?(?:[ \t]*(?:and|&|\+|n|/)[ \t]*(?:mr|mrs|ms|dr|missus|mister)\b\.?)?"),
    (Cue.FIELD, r"\b(?:miss|misses|sir|madam|dame|lady|father|pastor|reverend|rev|judge|professor|prof|doctor|officer|sergeant|coach|captain|senator|deacon|rabbi|imam|nurse|herr|frau|señora|señor|sra|pani|old|young)\b\.?"),
    (Cue.LIKELY, r"\b(?:dr|doc)\b\.?"),
    (Cue.SURE, r"(?<!brand )(?<!model )(?<!file )(?<!part )(?<!user )(?<!trade )(?<!street )\b(?:last |first |family |given |full )?(?:name|names|surname)(?:'s)?(?:[ \t]+(?:is|was)|[ \t]*[:=]|'s)(?![a-z])"),
    (Cue.SURE, r"\bname's"),
    (Cue.SURE, r"\b(?:(?:he|she|who|man|woman|guy|fella|lady|boss|owner|manager|there)[ \t]+(?:is|was)[ \t]+called|known as|nickname is|nickname's|nicknamed|calls (?:him|her)self|(?:they|we|people|everybody|everyone|folks) calls? (?:him|her))"),
    (Cue.FIELD, rf"\b(?:{_PERSONS}|one|person)[ \t]+(?:here[ \t]+|there[ \t]+|(?:with|who|of|at|in|from|that)\b[^.,;\n\d]{{1,30}}?[ \t]+)?(?:is|was)"),
    (Cue.FIELD, r"\b(?:everybody|everyone|they all|folks|people) says?"),
    (Cue.SURE, rf"\b{_PERSON}(?:'s)?[ \t]+name"),
    (Cue.FIELD, r"(?<![\w'])(?:c|nm)[ \t]?:"),
    (Cue.SURE, r"\b(?:named|by the name of|goes by|answers to|ask for|asking for|attn\.?|attention:|c/o|care of|signed by|signed for by|bill to|billed to|invoice to|invoiced to|sold to|account of)(?:[ \t]+(?:dr|prof|rev|sgt)\b\.?)?"),
    (Cue.LIKELY, rf"\b{_PERSON}(?:'s)?(?:[ \t]+(?:is|was))?(?:[ \t]+(?:called|named)\b|(?: name)?[ \t]*[:=-]|,|[ \t]*\()?"),
    (Cue.FIELD, r"\b(?:call|ring|text|txt|phone|reach|contact|see|spoke (?:to|with)|speak (?:to|with)|(?:talk|talked) (?:to|with))"),
    (Cue.LIKELY, r"\b(?:told|tell|ask|asked|remind|reminded|email|e-mail|met|meet|for|from|with|w/|by|per|to|thanks|thank you|belongs to|promised|paid by|re:|over at|at|of)"),
    (Cue.FIELD, r"\b(?:family|residence of|home of|house of|(?:same|next) (?:house|home|street|st|building|bldn?g|block|road|place|flat|apartment|party|lady|man) (?:as|to))"),
)  # fmt: skip
_CUE_RES = tuple(
    (
        cue,
        compile_bounded(pattern + r"[ \t]{0,3}", re.IGNORECASE),
        frozenset(re.findall("[a-z]+", re.sub(r"\\.", " ", pattern))),
    )
    for cue, pattern in _CUES
)
"""A grade, its pattern, and the words of which a text must hold one for the pattern to be worth a try."""
_VERB_OF_MISS_RE = compile_bounded(
    "don't|dont|to|not|you|i|we|didn't|never|can't|will|would|might|could|and|won't|they|he|she|it|or|that|if"
)

_HOME = r"(?:place|house|home|residence|flat|apartment|kitchen|basement|cellar|garage|condo|cottage|laundry|job|account|call|ticket|family|household|shed|barn|bathroom|porch|attic)"
_MACHINE = (
    r"(?:dryers?|washers?|dishwashers?|fridges?|refrigerators?|freezers?|ranges?|ovens?|stoves?|cooktops?|microwaves?|disposers?|disposals?|"
    r"ice[ \t-]?makers?|vacuums?|machines?|units?|furnaces?|water[ \t]heaters?|boilers?|hoods?|compactors?|coolers?|a/?c|dw|washing|tumble|coffee|top|front)"
)
_OWNED_RE = compile_bounded(
    rf"(?<![\w'-])(?P<name>[^\W\d_][\w-]+?)(?:'s|s'|s)[ \t]+(?:(?:old|new|other|big|little|gas|electric|upright|chest)[ \t]+)?(?:{_HOME}|{_MACHINE}|{_PERSON})\b"
)
_THE_RE = compile_bounded(rf"\b[Tt]he[ \t]+(?P<name>[A-Z][a-z][\w-]+)(?:[ \t]+(?:{_HOME}|{_MACHINE})\b|(?<=s)\b)")
_THE_HOUSE_RE = compile_bounded(
    r"\bthe[ \t]+(?P<name>[a-z][\w-]{3,})[ \t]+(?:place|house|residence|household|apartment|kids|family)\b"
)
_AT_HOME_RE = compile_bounded(rf"[ \t]+{_HOME}\b")
_SURNAME_FIRST_RE = compile_bounded(r"(?<![\w'-])(?P<name>[A-Z][\w'-]+,[ \t](?:(?P<given>[A-Z][a-z]+)\b|[A-Z]\.))")
_FAMILY_RE = compile_bounded(
    r"(?<![\w'-])(?P<name>[^\W\d_][\w'-]+)[ \t]+(?:family|residence|household|sisters|brothers|twins)\b"
)
_SAYS_RE = compile_bounded(
    r"[ \t]+(?:says?|said|called|calls|rang|wants?|wanted|phoned|texted|told|thinks|lives|paid|pays|swears|reports|reported|claims|complains|noticed|let me|lets me|emailed|wrote|asked|asks|heard|hears|mentioned)\b"
)
_PARTNER_RE = compile_bounded(r"[ \t]+(?:and|&)[ \t]+([A-Z][a-z]+)")
_BESIDE_RE = compile_bounded(
    r"[ \t]*(?:[,:;(/|-]|@|\b(?:at|on|tel|ph|phone|cell|mobile|mob|home|work|lives|live|of|no|number|is|email)\b\.?)?[ \t:.]*$",
    re.IGNORECASE,
)


_AFTER_CONTACT_RE = compile_bounded(r"[ \t]*[,(/-]?[ \t]*(?:ask for[ \t]+)?(?=[A-Z])")


def find_names(text: str, contacts: Sequence[Span], known: frozenset[str] = frozenset()) -> list[Span]:
    """Find customers' names.

    Args:
        text: A note, a cell, or the words of a recording.
        contacts: The places of phones, addresses, e-mails and entry codes, beside which names stand.
        known: Names in lower case that are told elsewhere.
    """
    cued = [*_find_cued(text), *_find_beside(text, contacts), *_find_owners(text), *find_heading_names(text)]
    return cued + list(_find_bare(text, _names_in(text, cued) | known))


def names_told(text: str) -> frozenset[str]:
    """The words of the names in a text, in lower case, such as the text of a cell that says who the customer is."""
    return _names_in(text, find_names(text, ()))


def _names_in(text: str, spans: Sequence[Span]) -> frozenset[str]:
    words = {bare(word) for start, end in spans for word in WORD_RE.findall(text[start:end]) if len(word) > 2}
    return names_alike([word for word in words if chance_of(word) > Chance.NEVER])


def _find_cued(text: str) -> Iterator[Span]:
    words = set(re.findall("[a-z]+", text.lower()))
    for cue, pattern, cue_words in _CUE_RES:
        if cue_words.isdisjoint(words):
            continue
        for match in pattern.finditer(text):
            at = match.end()
            if at == match.start() or (text[at - 1].isalnum() and at < len(text)):
                continue
            end = name_end(text, at, _adjusted(text, match, cue))
            if end > at:
                yield at, end


def _adjusted(text: str, match: re.Match[str], cue: Cue) -> Cue:
    """ "Don't miss the screw", "it misses a beat": no titles."""
    word = match.group().strip().lower()
    if word in ("miss", "misses"):
        before = re.search(r"([\w']+)[ \t]+$", text[max(0, match.start() - 16) : match.start()])
        return Cue.LIKELY if before and _VERB_OF_MISS_RE.fullmatch(before.group(1).lower()) else cue
    if re.match(_PERSON, word) and word.endswith(("called", "named", ":", "=", "-")):
        return Cue.SURE if word.endswith("ed") else Cue.FIELD
    return Cue.LIKELY if word in ("old", "young", "lady", "father", "sir", "coach", "captain", "nurse", "judge") else cue


def _find_beside(text: str, contacts: Sequence[Span]) -> Iterator[Span]:
    """Find "Nadine Vasko 555-0117", "Lem Hathersage, 5 Dory Ct", "555-0187 (Dev)"."""
    for start, end in contacts:
        line_start = max(text.rfind("\n", 0, start) + 1, start - 60)
        beside = _BESIDE_RE.search(text, line_start, start)
        first = last = beside.start() if beside else start
        by_phone = "@" in text[start:end] or not re.search("[a-z]{2}", text[start:end], re.IGNORECASE)
        words = [word for word in WORD_RE.finditer(text, line_start, last)]
        for word in reversed(words[-4:]):
            between = text[word.end() : first]
            if between.strip(" \t.") or (between.strip() and len(word.group()) > 1) or not _stands_beside(word, by_phone):
                break
            first = word.start()
        if first < last and any(chance_of(word.group()) >= Chance.BOTH for word in words if word.start() >= first):
            yield first, last
        after = _AFTER_CONTACT_RE.match(text, end)
        follow = WORD_RE.match(text, after.end()) if after else None
        if follow and is_capitalised(follow.group()) and chance_of(follow.group()) >= Chance.UNKNOWN:
            yield follow.start(), name_end(text, follow.start(), Cue.LIKELY)


def _stands_beside(word: re.Match[str], by_phone: bool) -> bool:
    """Whether a word beside a phone, an e-mail or an address is a name; before an address may stand shorthand of the trade."""
    chance = chance_of(word.group())
    if is_capitalised(word.group()):
        return chance >= Chance.BOTH or len(word.group()) == 1
    return chance is Chance.SURE or (by_phone and chance is Chance.UNKNOWN and not word.group().isupper())


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
    for match in _SURNAME_FIRST_RE.finditer(text):
        surname, given = match.group("name").split(",")[0], match.group("given")
        if chance_of(surname) >= Chance.UNKNOWN and (given is None or given.lower() in load_words().given):
            yield match.span("name")
    for match in _THE_RE.finditer(text):
        if chance_of(match.group("name")) >= (Chance.BOTH if match.group().lower().endswith("place") else Chance.UNKNOWN):
            yield match.span("name")
    for match in _THE_HOUSE_RE.finditer(text):
        if chance_of(match.group("name")) is Chance.UNKNOWN and not is_of_trade(match.group("name")):
            yield match.span("name")
    for match in _FAMILY_RE.finditer(text):
        name = match.group("name")
        led = is_capitalised(name) or text[max(0, match.start() - 4) : match.start()].lower() in ("the ", "for ")
        if chance_of(name) >= (Chance.BOTH if led else Chance.UNKNOWN):
            yield match.span("name")


def _find_bare(text: str, known: frozenset[str]) -> Iterator[Span]:
    """Find words that are nothing but names, names seen elsewhere in the same text, and full names."""
    last: re.Match[str] | None = None
    case = case_of(text)
    for word in WORD_RE.finditer(text):
        before, last = last, word
        chance = chance_of(word.group())
        if chance < Chance.BOTH and not known:
            continue
        lower = bare(word.group())
        among = chance is Chance.UNKNOWN and is_among_words(text, word, before, case)
        if before is not None and text[before.end() : word.start()] not in (" ", ". ", "."):
            before = None
        if chance >= Chance.BOTH and (among or _is_bare_name(text, word, before, known, case)):
            start = before.start() if before and _joins_left(before, lower) else word.start()
            end, given = without_possessive(word), chance is Chance.SURE and lower in load_words().given
            for _ in range(2):
                end, given = grow(text, end, Cue.LIKELY, given)
            yield start, end
        elif (
            lower in known
            and chance > Chance.NEVER
            and (is_capitalised(word.group()) or _says_nothing(word.group(), chance, case))
        ):
            yield word.start(), without_possessive(word)


def _says_nothing(word: str, chance: Chance, case: Case) -> bool:
    """Whether a known name may be without the capital of one: in text that has capitals alone, or none."""
    return case is not Case.MIXED and chance >= Chance.BOTH and len(word) > 2 and not tells_of_thing(word)


def _is_bare_name(text: str, word: re.Match[str], before: re.Match[str] | None, known: frozenset[str], case: Case) -> bool:
    chance, capital, lower = chance_of(word.group()), is_capitalised(word.group()), bare(word.group())
    if lower in known and (capital or chance >= Chance.UNKNOWN):
        return True
    given = lower in load_words().given
    if chance is Chance.SURE and (capital or len(lower) > 3):
        a_thing = not capital and given and before is not None and before.group() in ("the", "a", "an")  # "the maggie"
        return not a_thing or _AT_HOME_RE.match(text, word.end()) is not None
    if not capital:
        told = (given and case is Case.SHOUTED) or (chance is Chance.UNKNOWN and not is_of_trade(lower))
        return case is not Case.MIXED and told and _SAYS_RE.match(text[word.end() : word.end() + 14].lower()) is not None
    if before is not None and _follows_name(text, before, lower, chance):
        return True
    if given and (partner := _PARTNER_RE.match(text, word.end())) and chance_of(partner.group(1)) is Chance.SURE:
        return True
    second = WORD_RE.match(text, word.end() + 1)
    full = second is not None and is_capitalised(second.group()) and chance_of(second.group()) >= Chance.BOTH
    end = second.end() if second and full else word.end()
    return (given or chance is Chance.UNKNOWN) and _SAYS_RE.match(text, end) is not None


def _follows_name(text: str, before: re.Match[str], surname: str, chance: Chance) -> bool:
    """Whether an initial ("R. Quill") or a given name ("Rose Baker") stands before a capitalised word."""
    if not is_capitalised(before.group()):
        return False
    first = bare(before.group())
    if len(first) == 1:
        return text[before.end()] == "." and first not in "ai"
    return first in load_words().given and (chance is Chance.UNKNOWN or surname in load_words().surnames)


def _joins_left(before: re.Match[str], surname: str) -> bool:
    """Whether the word before a name belongs to it: "Ottaline Greaves", "R. Quill", "hazel brannigan"."""
    first, chance = bare(before.group()), chance_of(before.group())
    if first in load_words().given and chance >= Chance.BOTH and surname in load_words().surnames:
        return True
    if not is_capitalised(before.group()):
        return False
    return chance >= Chance.BOTH or first in load_words().given or (len(first) == 1 and first not in "ai")
