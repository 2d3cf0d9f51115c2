"""Finds addresses without a word for street, "41 Capstan", "8 Old Sail Loft", and those of which the number is spoken."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kbindex.reading.private_headings import is_of_trade
from kbindex.reading.private_words import (
    FIGURE,
    UNIT,
    WORD_RE,
    Chance,
    Span,
    bare,
    chance_of,
    compile_bounded,
    expand_figures,
    is_capitalised,
    load_words,
)

_WORD = r"[^\W\d_][\w']+"
_LONE_RE = compile_bounded(
    rf"(?<![\w.$#/:+-])(?P<number>\d{{1,4}}(?:[A-Ha-h]\b)?),?[ \t]{{1,2}}(?P<name>{_WORD}(?:[ \t]{_WORD}){{0,2}}?)(?=[ \t]*(?:[,;)\n/|(]|\.(?!\w)|$|[ \t]{{2}}|[ \t]-[ \t]|[ \t]\(?555|\[))"
)
_SPOKEN_RE = compile_bounded(
    rf"\b(?P<cue>at|on|off|of|to|from|place|house|home|address|by|number|is|in|lives|and|around)[ \t]+(?P<place>(?P<number>{FIGURE}(?:[ \t-](?:and[ \t])?{FIGURE}\b){{1,5}})[ \t]+(?P<name>{_WORD})(?:[ \t]+(?P<next>{_WORD}))?)",
    re.IGNORECASE,
)
_SPOKEN_STREET_RE = compile_bounded(
    rf"(?<![\w'-])(?P<number>{FIGURE}(?:[ \t-](?:and[ \t])?{FIGURE}\b){{0,5}})[ \t]+(?P<name>(?:{_WORD}[ \t]+){{1,2}}?)(?:street|avenue|lane|road|boulevard|terrace|crescent|drive|court|close|steps|place|row|view|way|circle|trail)\b(?![ \t](?:switch|board|light|motor|wheel|belt|valve|through|up|down|in|out|to))",
    re.IGNORECASE,
)
_APART_RE = compile_bounded(
    r"\.?(?:[ \t]*(?:[,;)(\n/|-]|$|\[|\(?555)|\.[ \t\n]|[ \t]{2}|[ \t](?:apt|unit|flat|gate|ph|tel|cell|phone|alarm)\b)",
    re.IGNORECASE,
)
_AFTER_NAME_RE = compile_bounded(r"(?<![\w'])([A-Z][\w'-]+)[ \t]+$")
_LED_RE = compile_bounded(
    r"(?:^|[,;(|/]|[ \t]{2}|\n|\b(?:at|on|to|of|from|near|off|in|address|by|it'?s)|[ \t]-|\b(?:mr|mrs|ms|miss|dr|mister)\.?[ \t][\w'-]+(?:[ \t][\w'-]+)?)[ \t]{0,3}$",
    re.IGNORECASE,
)
_JOB_RE = compile_bounded(
    r"(?:\b(?:job|ticket|tkt|wo|order|no|number|part|model|invoice|code|error|visit|step|page|chapter|top|bay|row|size|type|grade|phase|see|to|of)\.?|#)[ \t:#]*$",
    re.IGNORECASE,
)
_NOT_STREET = frozenset(
    "january february march april may june july august september october november december jan feb mar apr jun jul aug sep sept oct nov dec "
    "monday tuesday wednesday thursday friday saturday sunday mon tue tues wed thu thur thurs fri sat sun beeps blinks pm am phillips torx "
    "allen button buttons door doors amp amps volt volts ohm ohms pin pins gal gallon gas job jobs".split()
)
_NO_ROAD = frozenset(
    "lane road street drive court one two way dirt traffic bowling back main same whole other separate wrong next this that the".split()
)
_NEAR = 60
_CONTACT_RE = compile_bounded(
    r"555|\b(?:mr|mrs|ms|mister|missus|dr|miss|señor|señora|ph|tel|phone|cell|gate|lockbox|alarm|buzzer|key|code|customer|cust|client)\b|@|\[private",
    re.IGNORECASE,
)
_UNIT_RE = compile_bounded(UNIT, re.IGNORECASE)


def find_lone_streets(text: str) -> Iterator[Span]:
    """Find a house number with what can only be the name of a street, and streets of which the number is spoken."""
    if any(ch.isdigit() for ch in text):
        for match in _LONE_RE.finditer(text):
            if _is_lone_street(text, match):
                yield match.span()
    for match in _SPOKEN_STREET_RE.finditer(text):
        if _is_spoken_street(match):
            yield match.span()
    for match in _SPOKEN_RE.finditer(text):
        if _is_spoken_place(match):
            yield match.start("number"), match.end("name")


def _is_lone_street(text: str, match: re.Match[str]) -> bool:
    start, words = match.start(), match.group("name").split()
    if not (_LED_RE.search(text, max(0, start - 30), start) or _is_after_name(text, start)) or _JOB_RE.search(
        text, max(0, start - 10), start
    ):
        return False
    if _UNIT_RE.match(text, match.end("number")) or any(_is_no_street_word(word) for word in words):
        return False
    if not text[:start].strip(" \t#*") or text[:start].rstrip(" \t#*").endswith("\n"):
        return False  # a number that opens a line is the job's
    named = _is_street_name(words)
    near = _is_near_somebody(text, start, match.end())
    capital = all(is_capitalised(word) for word in words)
    return (named and (capital or near)) or (capital and near)


def _is_after_name(text: str, start: int) -> bool:
    before = _AFTER_NAME_RE.search(text, max(0, start - 30), start)
    return before is not None and chance_of(before.group(1)) >= Chance.UNKNOWN and not is_of_trade(before.group(1))


def is_told_address(text: str, start: int, end: int, words: list[str], *, sure: bool) -> bool:
    """Whether "6 lantern ct" or "210 old kiln road" stands as an address does: apart, and beside who lives there."""
    if any(_is_no_street_word(word) or bare(word) in _NO_ROAD for word in words) or _JOB_RE.search(
        text, max(0, start - 10), start
    ):
        return False
    if sure and len(words) < 3 and any(ch.isdigit() for ch in text[start : start + 4]):
        return True
    led = _LED_RE.search(text, max(0, start - 30), start) is not None
    apart = _APART_RE.match(text, end) is not None
    return (led and apart) and (_is_near_somebody(text, start, end))


def _is_near_somebody(text: str, start: int, end: int) -> bool:
    before, after = text[max(0, start - _NEAR) : start], text[end : end + _NEAR]
    if _CONTACT_RE.search(before) or _CONTACT_RE.search(after):
        return True
    return any(chance_of(word) >= Chance.UNKNOWN and not is_of_trade(word) for word in WORD_RE.findall(before[-30:]))


def _is_no_street_word(word: str) -> bool:
    plain = bare(word)
    return (
        plain in _NOT_STREET
        or plain in load_words().heading
        or (chance_of(word) is Chance.NEVER and plain not in ("old", "new"))
    )


def _is_street_name(words: list[str]) -> bool:
    """Whether a word says that others with it are a street: one of no language, or one that many streets are called."""
    return any(
        (chance_of(word) >= Chance.UNKNOWN and not is_of_trade(word))
        or (bare(word) in load_words().streets and len(words) == 1)
        for word in words
    )


def _is_spoken_street(match: re.Match[str]) -> bool:
    """ "Nineteen hundred cutter street", "nine tiller lane"; not "one dirt road" and not "two lane road"."""
    words = [bare(word) for word in match.group("name").split()]
    if any(word in _NO_ROAD or chance_of(word) is Chance.NEVER and word not in ("old", "new") for word in words):
        return False
    figures = "".join(expand_figures(match.group("number")))
    kind = match.group().rsplit(None, 1)[-1].lower()
    sure = kind in ("street", "avenue", "lane", "boulevard", "terrace", "road")
    if len(words) == 1 and words[0] in load_words().heading:
        return False
    if sure and (len(figures) > 1 or words[0] not in ("dead", "bumpy", "gravel", "long")):
        return True
    told = len(figures) > 1 or (
        kind == "row" and _LED_RE.search(match.string, max(0, match.start() - 30), match.start()) is not None
    )
    return told and not any(word in load_words().heading or is_of_trade(word) for word in words)


def _is_spoken_place(match: re.Match[str]) -> bool:
    """ "On eighteen oh five wexford": a number of a house that leads to a word of no language."""
    name, figures = match.group("name"), "".join(expand_figures(match.group("number")))
    if not 2 < len(figures) < 6 or _UNIT_RE.match(match.string, match.end("number")) or bare(name) in load_words().heading:
        return False
    if len(name) < 4 or is_of_trade(name):
        return False
    at_home = match.group("cue").lower() in ("place", "house", "home", "address", "lives") and chance_of(name) > Chance.NEVER
    return at_home or chance_of(name) >= Chance.UNKNOWN or (bare(name) in load_words().streets and is_capitalised(name))
