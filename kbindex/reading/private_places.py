"""Finds street addresses: house number and street, written or spoken, flats, boxes, corners, and the post code beside them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from kbindex.reading.private_headings import is_of_trade
from kbindex.reading.private_lone_streets import find_lone_streets, is_told_address
from kbindex.reading.private_words import (
    FIGURE,
    UNIT,
    Chance,
    Span,
    bare,
    chance_of,
    compile_bounded,
    is_capitalised,
    is_street_word,
    load_words,
)

_SURE_KINDS = (
    "street|str|st|road|rd|avenue|ave|av|lane|ln|boulevard|blvd|terrace|terr|crescent|cres|gardens|gdns|mews|brae|wynd|turnpike|"
    "parkway|pkwy|highway|hwy|freeway|alley|cul-de-sac|pl|sq"
)
_OTHER_KINDS = (
    "drive|dr|court|ct|place|circle|cir|way|row|close|square|trail|trl|loop|grove|walk|hill|rise|path|pike|crossing|run|cove|view|"
    "green|park|quay|wharf|vale|gate|landing|bend|hollow|ridge|point|pass|cross|heights|hts|common|commons|plaza|"
    "steps|yard|loft|parade|ropewalk|arches|buildings|works|rooms|bank|fold|mount|haven|fields|wharf|reach|garth|dene|lea|meadow|meadows|orchard|orchards|estate|croft|gables"
)
_KIND = rf"(?:{_SURE_KINDS}|{_OTHER_KINDS})"
_RARELY_OF_MACHINES = frozenset({"row", "view"})
_PLACES_OF_ROWS = frozenset(
    "top bottom upper lower middle back front rear left right first second third last other next same each every side one two "
    "single long short whole exploded parts inside good better in".split()
)
_SURE_KIND_SET = frozenset(_SURE_KINDS.split("|"))
_KIND_SET = frozenset(f"{_SURE_KINDS}|{_OTHER_KINDS}".split("|"))
_NAME_WORD = r"(?:[^\W\d_][\w']*\.?|\d{1,3}(?:st|nd|rd|th))"
_SPOKEN_NUMBER = rf"{FIGURE}(?:[ \t-](?:and[ \t])?{FIGURE}\b){{0,5}}(?:[ \t]and[ \t]a[ \t]half)?"
_NUMBER = rf"(?:\d{{1,5}}(?:[A-Za-z]\b|½)?(?:[-/](?:\d{{1,4}}|[A-Za-z]\b))?|{_SPOKEN_NUMBER})"

_NUMBERED_RE = compile_bounded(
    rf"(?<![\w.$#/-])(?P<number>{_NUMBER}),?[ \t]+(?P<name>(?:{_NAME_WORD}[ \t]+){{1,4}}?)(?P<kind>{_KIND})\b(?!['-])\.?",
    re.IGNORECASE,
)
_STREET_RE = compile_bounded(rf"(?<![\w'-])(?P<name>(?:{_NAME_WORD}[ \t]+){{1,2}}?)(?P<kind>{_KIND})\b(?!['-])", re.IGNORECASE)
_NUMBER_AFTER_RE = compile_bounded(
    rf",?[ \t]+(?:(?:no\.?|nr\.?|number|#)[ \t]*)?(?:\d{{1,4}}[A-Za-z]?|{_SPOKEN_NUMBER})\b(?!{UNIT})(?![ \t]*[#\d])",
    re.IGNORECASE,
)
_FOREIGN_RES = (
    compile_bounded(
        r"\b[^\W\d_]{3,20}(?:stra(?:ße|sse)|str\.|weg|gasse|allee|platz|straat|laan|vägen|gatan|gata|ulica)[ \t]+\d{1,4}[a-z]?\b",
        re.IGNORECASE,
    ),
    compile_bounded(
        r"\b(?:\d{1,4},?[ \t]+)?(?:[Rr]ue|[Cc]alle|[Vv]ia|[Uu]l\.|[Uu]lica|[Cc]hemin|[Vv]iale|[Aa]venida)[ \t]+(?:(?:de|des|du|la|las|los|del|della|le)[ \t]+){0,2}[A-ZÀ-Þ]\w+(?:,?[ \t]+\d{1,4}[a-z]?\b)?"
    ),
)
_AT_RE = compile_bounded(
    rf"\b(?:at|address(?:[ \t]+is|[ \t]*:)?|addr\.?:?|lives[ \t]+at|house[ \t]+(?:is[ \t]+)?at|to|by)[ \t]+(?P<place>(?P<number>{_NUMBER})[ \t]+(?:(?:north|south|east|west|old|n|s|e|w)\.?[ \t]+)?(?P<name>[A-Za-z][\w']+))(?![\w'-])",
    re.IGNORECASE,
)
_ON_RE = compile_bounded(r"\b(?:on|off)[ \t]+([A-Z][a-z]{2,})(?=[ \t]*(?:[.,;()\n]|$))")
_CROSSING_RE = compile_bounded(
    rf"\b(?P<cue>corner|cnr|intersection|at|on|near|by)[ \t]+(?:of[ \t]+)?(?:the[ \t]+)?(?P<place>(?P<one>{_NAME_WORD})(?:[ \t]+{_KIND}\.?)?[ \t]+(?:and|&|at|n)[ \t]+(?P<other>{_NAME_WORD})(?:[ \t]+{_KIND}\b)?)",
    re.IGNORECASE,
)
_BOX_RE = compile_bounded(
    rf"\b(?:p\.?[ \t]?o\.?|post[ \t]+office)[ \t]+box[ \t]*(?:no\.?|number|#)?[ \t]*(?:\d{{1,6}}|{_SPOKEN_NUMBER})\b",
    re.IGNORECASE,
)
_DOOR_NUMBER = rf"(?:(?:no\.?|number|#)[ \t]*)?(?:\d{{1,4}}(?:[-/][A-Za-z0-9]{{1,3}}|[ \t]?[A-Za-z])?|{FIGURE}(?:[ \t-]{FIGURE})?(?:[ \t][b-h])?|[A-Z](?:-?\d{{1,4}})?|[b-h])(?![\w'])"
_FLAT_RE = compile_bounded(
    rf"(?<![\w'-])(?P<kind>apt|apts|apartment|apmt|suite|ste|condo|flat|unit|penthouse|bldg|building)\b(?:'s|[ \t]+is|\.)?[ \t]*(?P<number>{_DOOR_NUMBER})",
    re.IGNORECASE,
)
_STREET_BEFORE_RE = compile_bounded(rf"(?:\b{_SPOKEN_NUMBER}[ \t]+)?\b([A-Za-z]+),?[ \t]+$", re.IGNORECASE)
_BLOCK_RE = compile_bounded(
    rf"\b(?P<name>(?:[A-Za-z][\w']+[ \t]+){{1,2}}?)(?:apts?|apartments|condos|condominiums|towers|estates|villas|mobile home park|trailer park)\b\.?(?:,?[ \t]*(?:{_DOOR_NUMBER}))?",
    re.IGNORECASE,
)
_NAMED_HOUSE_RE = compile_bounded(
    r"\b(?P<name>[A-Z][\w']+)(?:[ \t](?:Tree|Hill|End|Mill))?[ \t](?:House|Cottage|Lodge|Farm|Villa|Manor|Barn|Mansions|Croft|Hall)\b(?!')"
)
_HOUSE_NUMBER_RES = (
    compile_bounded(r"\b(?:on|along|off)[ \t]+the[ \t]+(Esplanade|Parade|Promenade|Embankment)\b"),
    compile_bounded(r"(?<!part )(?<!model )(?<!code )(?<!error )(?<!no )(?<!no\. )(?<![\w-])([A-DGH]-\d{3,4})(?![\w-])"),
    compile_bounded(r"\b(?:in|at|up in|from)[ \t]+(\d{1,3}[BDEGHJ])(?![\w-])"),
    compile_bounded(
        r"\b((?:\d{1,5},?[ \t]+)?(?:county|state|rural|farm)[ \t]+(?:road|route|rd|rte)[ \t]+\d{1,4}\b)", re.IGNORECASE
    ),
    compile_bounded(r"\b(\d{1,5},?[ \t]+(?:highway|hwy|route|rte|rr)\.?[ \t]+\d{1,4}\b)", re.IGNORECASE),
    compile_bounded(
        r"\b((?:[Nn]o\.?[ \t]?)?\d{1,4},?[ \t]The[ \t](?:Paddock|Spinney|Green|Crescent|Close|Avenue|Square|Grove|Glebe|Maltings|Oaks|Elms|Limes|Firs|Pines|Meadows?|Terrace|Row|Street|Lane|Hill|Mews|Drive|Gardens))\b"
    ),
    compile_bounded(r"(?<![\w-])([A-Z]-\d{3,4})(?=,?[ \t]+(?:Mr|Mrs|Ms|Miss|Dr|flat|wing|tower)\b)"),
    compile_bounded(rf"\bhouse[ \t]+(?:number|no\.?)[ \t]*(?:is|:)?[ \t]*({_NUMBER})\b", re.IGNORECASE),
    compile_bounded(
        r"\b(?:at|from|round at|over at)[ \t]+((?:number|no\.?|nr\.?)[ \t]*\d{1,4}[a-z]?)(?=[ \t]*(?:[,.;)\n]|$))",
        re.IGNORECASE,
    ),
)
_BRITISH_CODE = r"[A-Z]{1,2}\d[A-Z\d]?[ \t]?\d[ABD-HJLNP-UW-Z]{2}"
_POST_CODE_RE = compile_bounded(
    rf"\b(?:zip(?:[ \t]*code)?|post[ \t]?code|postal[ \t]+code)[ \t]*(?:is|:|=)?[ \t]*(\d{{5}}(?:-\d{{4}})?|{_BRITISH_CODE}|{FIGURE}(?:[ \t,-]+{FIGURE}){{3,6}})\b",
    re.IGNORECASE,
)
_AFTER_RE = compile_bounded(
    rf"(?:,?[ \t]+|,)(?:#[ \t]?\d{{1,4}}[A-Za-z]?\b|(?i:apt|apartment|unit|flat|suite|ste|floor|fl)\.?[ \t]*{_DOOR_NUMBER}|\d{{5}}(?:-\d{{4}})?\b(?!{UNIT})|{_BRITISH_CODE}\b|[A-Z]{{2}}[ \t]+\d{{5}}(?:-\d{{4}})?\b)",
)
_TOWN_RE = compile_bounded(
    r",[ \t]+(?P<town>[A-Z][a-z]+(?:[ \t][A-Z][a-z]+)?)(?=[ \t]*(?:[,.;)\n]|$|[ \t][A-Z]{2}[ \t]\d|[ \t]\d{5}\b|[ \t]"
    + _BRITISH_CODE
    + r"\b))"
)
_UNIT_RE = compile_bounded(UNIT, re.IGNORECASE)
_PREPOSITION_RE = compile_bounded(
    r"(?:\b(?:on|at|off|down|from|near|along|up|lives|over|of|to|by|address:?)[ \t]+(?:the[ \t]+)?|[,(][ \t]*)$", re.IGNORECASE
)
_MACHINE_NEXT_RE = compile_bounded(
    r"[ \t]+(?:belt|motor|roller|wheel|pulley|shaft|gear|valve|switch|connector|plug|block|unit|drum|assembly|kit)s?\b",
    re.IGNORECASE,
)
_COMPASS_RE = compile_bounded("[ns]?[ew]|[ns]|north|south|east|west|old|new|upper|lower|great|little|saint|the")


def find_addresses(text: str) -> Iterator[Span]:
    """Find places where somebody lives."""
    for start, end in (*_find_streets(text), *find_lone_streets(text)):
        yield start, _with_flat_and_town(text, end)
    for pattern in (*_FOREIGN_RES, _BOX_RE):
        yield from (match.span() for match in pattern.finditer(text))
    for pattern in (*_HOUSE_NUMBER_RES, _POST_CODE_RE):
        yield from (match.span(1) for match in pattern.finditer(text))
    for match in _NAMED_HOUSE_RE.finditer(text):
        if chance_of(match.group("name")) >= Chance.BOTH or match.group("name").lower() in load_words().streets:
            yield match.span()
    yield from _find_flats(text)


def _find_streets(text: str) -> Iterator[Span]:
    if not _KIND_SET.isdisjoint(re.findall("[a-z-]+", text.lower())):
        yield from _find_named_streets(text)
    for match in _AT_RE.finditer(text):
        if _is_bare_street(match.group("name")) and not _UNIT_RE.match(text, match.end("number")):
            yield match.span("place")
    for match in _ON_RE.finditer(text):
        least = Chance.BOTH if match.group(1).lower() in load_words().streets else Chance.UNKNOWN
        if chance_of(match.group(1)) >= least:
            yield match.span(1)
    for match in _CROSSING_RE.finditer(text):
        if _is_crossing(match):
            yield match.span("place")


def _find_named_streets(text: str) -> Iterator[Span]:
    """Find what ends in "street", "lane", "court", with a number before it, after it, or without."""
    place = 0
    while match := _NUMBERED_RE.search(text, place):
        if _is_street(match, numbered=True):
            yield match.span()
            place = match.end()
        else:
            place = match.end("number")
    place = 0
    while match := _STREET_RE.search(text, place):
        place = match.end()
        after = _NUMBER_AFTER_RE.match(text, match.end())
        led = _PREPOSITION_RE.search(text, max(0, match.start() - 16), match.start()) is not None
        if _is_street(match, numbered=False, led=led or after is not None):
            yield match.start(), after.end() if after else match.end()
        else:
            place = match.start() + len(match.group("name").split()[0])


def _names_a_row(words: Sequence[str]) -> bool:
    """ "2 bottom row tines" and "3 button row": rows that a machine has."""
    return any(is_of_trade(word) or bare(word) in _PLACES_OF_ROWS for word in words)


def _is_street(match: re.Match[str], *, numbered: bool, led: bool = False) -> bool:
    """Whether words before "street", "lane", "drive" are what a street is called, not what a machine has."""
    words, kind = match.group("name").split(), match.group("kind")
    sure_kind = kind.lower() in _SURE_KIND_SET or (numbered and kind.lower() in _RARELY_OF_MACHINES and not _names_a_row(words))
    capital = (sure_kind or is_capitalised(kind)) and all(is_capitalised(word) or word[0].isdigit() for word in words)
    if numbered and capital and is_capitalised(kind) and not _MACHINE_NEXT_RE.match(match.string, match.end()):
        return True
    if (numbered or (capital and is_capitalised(kind) and led)) and is_told_address(
        match.string, match.start(), match.end(), words, sure=sure_kind
    ):
        return True
    if not all(is_street_word(word) or _COMPASS_RE.fullmatch(word.lower().rstrip(".")) for word in words):
        return False
    if all(_COMPASS_RE.fullmatch(word.lower().rstrip(".")) for word in words) and not (numbered and capital):
        return False
    everyday = all(chance_of(word.rstrip(".")) < Chance.UNKNOWN for word in words)
    if sure_kind:
        return numbered or led or (capital and is_capitalised(kind)) or (capital and not everyday)
    if numbered:
        return capital or not everyday
    short = kind.lower() in ("ct", "dr", "cir", "trl") and is_capitalised(words[0])
    return (capital and (led or not everyday)) or (short and not everyday)


def _is_bare_street(name: str) -> bool:
    """Whether "at 220 Birch" can be a street: a tree, a saint, a name; not a unit and not a part."""
    chance = chance_of(name)
    listed = name.lower() in load_words().streets
    if is_capitalised(name):
        return chance >= Chance.UNKNOWN or listed
    return listed and chance >= Chance.UNKNOWN


def _is_crossing(match: re.Match[str]) -> bool:
    names = (match.group("one"), match.group("other"))
    if not all(is_street_word(name) for name in names):
        return False
    if match.group("cue").lower() in ("corner", "cnr", "intersection"):
        return True
    listed = all(name.lower() in load_words().streets or name[0].isdigit() for name in names)
    return listed and all(is_capitalised(name) or name[0].isdigit() for name in names)


def _with_flat_and_town(text: str, end: int) -> int:
    """Take in what belongs to an address after its street: flat, town, post code."""
    for _ in range(4):
        match = _AFTER_RE.match(text, end)
        if match is None:
            town = _TOWN_RE.match(text, end)
            if town is None or chance_of(town.group("town").split()[0]) < Chance.BOTH:
                return end
            match = town
        end = match.end()
    return end


def _find_flats(text: str) -> Iterator[Span]:
    for match in _FLAT_RE.finditer(text):
        if _is_flat(text, match):
            yield _with_street_before(text, match.start()), match.end()
    for match in _BLOCK_RE.finditer(text):
        if all(is_street_word(word) and _is_block_word(word) for word in match.group("name").split()):
            yield match.span()


def _with_street_before(text: str, start: int) -> int:
    """Take in the street of "elm apt 2"."""
    before = _STREET_BEFORE_RE.search(text[max(0, start - 40) : start])
    if before and before.group(1).lower() in load_words().streets and chance_of(before.group(1)) >= Chance.UNKNOWN:
        return start - len(before.group())
    return start


def _is_block_word(word: str) -> bool:
    return is_capitalised(word) or chance_of(word) >= Chance.UNKNOWN or word.lower() in load_words().streets


def _is_flat(text: str, match: re.Match[str]) -> bool:
    """ "Unit 9" is a home unless a count or a measure follows; "flat two" needs a figure."""
    kind, number = match.group("kind").lower(), match.group("number")
    if _UNIT_RE.match(text, match.end()) or re.match(r"[ \t]+(?:of|or)\b", text[match.end() : match.end() + 9]):
        return False
    if kind in ("flat", "unit", "building", "condo"):
        if number[0].isdigit() or number[0] == "#":
            return True
        led = text.startswith(",", match.end()) or re.search(
            r"(?:,|\b(?:in|at|to|of))[ \t]+$", text[max(0, match.start() - 5) : match.start()]
        )
        return bool(led) and (number[0].isupper() or re.match(FIGURE, number) is not None)
    return True
