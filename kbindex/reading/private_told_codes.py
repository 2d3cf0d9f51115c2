"""Finds entry codes told at some distance from the gate, the door or the alarm, and codes said with star, hash or pound.

"The lockbox on the side door was nineteen eighty-two", "the street door wanted two nine star six". A figure with a unit, a
job's or a part's number, and what a machine shows are left.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from kbindex.reading.private_words import FIGURE, UNIT, Span, compile_bounded, expand_figures

BARRIER = (
    r"(?:gate|lock[ -]?box(?:es)?|key[ -]?(?:safe|box|pad)|lock[ -]?safe|alarm|entry|entrance|garage|lobby|intercom|padlock|entry[ -]?phone|"
    r"buzzer|bz|bzr|call[ -]?box|door[ -]?bell|barrier|burglar[ -]?alarm|"
    r"(?:front|back|side|rear|main|street|building|outside|outer|basement|cellar|patio|yard|shed|service|alley|lobby|staff|loading|stage|"
    r"garden|pool|carport|car[ -]?park|stairs?|stairwell|hallway|shop|shutter|roller|steel|small|little|night|bulkhead|fire)[ \t]+"
    r"(?:door|entrance|gate|entry))"
)
"""What keeps people out of a home or a shop; a bare "door" is the machine's own."""

_LOCK = BARRIER.replace(
    "|entry|entrance|garage|lobby|", r"|(?:entry|entrance|garage|lobby)[ \t]+(?:door|gate|code|keypad|pad|alarm|lock)|"
)
"""A barrier that is not also a place where machines stand."""

_SIGN = r"(?:star|hash|pound|asterisk|hashtag)"
_FIGURE = rf"(?:{FIGURE}|\d{{1,4}})"
_GAP = r"(?:[ \t]{1,3}|[ \t]?[,-][ \t]?)(?:(?:and|then|the|uh|um|and then)[ \t]{1,3}){0,2}"
_KEY_NAME = r"(?:[ \t]{1,3}(?:key|sign|button)\b)?"
_SIGNED_RE = compile_bounded(
    rf"(?<![\w$.'-])(?:{_SIGN}{_KEY_NAME}{_GAP})?{_FIGURE}\b(?:(?:{_GAP})(?:{_FIGURE}|{_SIGN}{_KEY_NAME})\b){{1,9}}(?![\w'])",
    re.IGNORECASE,
)
_STARRED_RE = compile_bounded(r"(?<![\w#$.*/-])(?:\*\d{3,6}[#*]?|\d{3,6}\*)(?![\w*])")
_DASHED_RE = compile_bounded(r"(?<![\w$.#*/-])\d(?:-\d){3,5}[#*]?(?![\w/-]|\.\d)")
_CODE = rf"(?P<code>[#*]?(?:{_FIGURE}(?:(?:[ \t]{{1,2}}|,[ \t]|-)(?:{FIGURE}|\d)\b){{1,6}}|\d{{4,6}}|\d{{1,2}}[ \t-]\d{{2}}|\d(?:[ \t.-]\d){{2,5}})[#*]?)(?![\w]|\.\d)"
_LINK = r"(?:is|was|are|were|be|on|wants?|wanted|needs?|needed|takes?|took|code|combo|number|it's|it[ \t]was|that's|that[ \t]was|they're|hash|pound|star|to|with|by|says?|:|=|,|#|\()"
_FAR_RE = compile_bounded(
    rf"\b(?P<barrier>{_LOCK}|(?:a|the|same|old|new)[ \t]+code)\b(?P<between>(?:[^.\n;?!\d]|\.[ \t](?=(?:it's|that's|it|the code)\b)){{0,70}}?)(?:(?<![\w'])(?P<link>{_LINK})(?!\w)[ \t]{{0,2}}|(?<=[ \t(,:])){_CODE}",
    re.IGNORECASE,
)
_MACHINE_RE = compile_bounded(
    r"\b(?:error|err|fault\w*|diag\w*|display\w*|shows?|showing|showed|throws?|threw|flash\w*|blink\w*|beep\w*|reads?|reading|ohms?|volts?|amps?|meter(?! (?:box|hatch|cupboard|cabinet|door))\w*|"
    r"job|ticket|tkt|wo|order|invoice|part|model|serial|phone|ph|tel|cell|call|call\w+|ring|text|cost|paid|charged?|price|dollars?|bucks|"
    r"washer|dryer|dishwasher|oven|range|fridge|freezer|microwave|board|code[ \t]f|codes|january|february|march|april|may|june|july|august|"
    r"september|october|november|december|jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec|from|until|till|before|after|since|year|o'clock|"
    r"street|avenue|lane|road|cycle|test|setting|degrees?|screws?|minutes?|hours?|times)\b",
    re.IGNORECASE,
)
_SHOWN_RE = compile_bounded(r"\b(?:blink|flash|beep|error|pattern|fault|part|p/n|model|serial|code[ \t]f)\w*\b", re.IGNORECASE)
_NEAR_RE = compile_bounded(rf"\b(?:{BARRIER}|code|door|get[ \t]in|let[ \t]\w+[ \t]in|enter)\b", re.IGNORECASE)
_UNIT_RE = compile_bounded(rf"{UNIT}|[ \t]+(?:pounds|stars|of)\b", re.IGNORECASE)
_NOT_LED_RE = compile_bounded(r"\b(?:at|in|about|around|near|for|past|only)[ \t]+$", re.IGNORECASE)
_PAIR_RE = compile_bounded(r"\d{1,2}[ \t]\d{2}")
_YEAR_RE = compile_bounded(r"(?:19|20)\d\d")
_ANY_SIGN_RE = compile_bounded(rf"\b{_SIGN}\b", re.IGNORECASE)
_LEADING_RE = compile_bounded(rf"\b{BARRIER}(?:[ \t]+(?:code|combo|panel|pad|keypad))?[ \t]*(?:is|:|#)?[ \t]*$", re.IGNORECASE)
_FITTING = len(" keypad ")
"""Between a barrier and its code; further off, what looks like a year is one."""
_ANY_LOCK_RE = compile_bounded(
    r"gate|lock|key|alarm|entry|entrance|garage|lobby|intercom|buzz|bz|call|bell|barrier|door|code", re.IGNORECASE
)
_LONE = 4
"""So many figures at least has a code that no sign and no word beside it gives away."""


def find_told_codes(text: str) -> Iterator[Span]:
    """Find entry codes said in a sentence about a gate, a door, an alarm or a key box, or with star, hash and pound."""
    if "*" in text:
        yield from (match.span() for match in _STARRED_RE.finditer(text) if not text.startswith("*", match.end()))
    if "-" in text:
        yield from (match.span() for match in _DASHED_RE.finditer(text) if not _is_shown(text, match.start()))
    if _ANY_SIGN_RE.search(text):
        yield from (match.span() for match in _SIGNED_RE.finditer(text) if _is_signed_code(text, match))
    place = 0 if _ANY_LOCK_RE.search(text) else len(text)
    while match := _FAR_RE.search(text, place):
        span = _told_span(text, match)
        if span:
            yield span
        place = match.end() if span else match.end("barrier")


def _is_shown(text: str, start: int) -> bool:
    return _SHOWN_RE.search(text, max(0, start - 30), start) is not None


def _is_signed_code(text: str, match: re.Match[str]) -> bool:
    """ "Star four four one nine" and "two nine star six" are codes; "fifty pound" and "energy star 2019" are not."""
    words = match.group().lower()
    if not _ANY_SIGN_RE.search(words) or _UNIT_RE.match(text, match.end()):
        return False
    figures = "".join(expand_figures(words))
    around = text[max(0, match.start() - 60) : match.start()] + " " + text[match.end() : match.end() + 40]
    near = _NEAR_RE.search(around) is not None
    by_weight = words.endswith("pound") and (not near or re.search("hundred|thousand|ty |teen ", words) is not None)
    return len(figures) >= (3 if near else _LONE) and not by_weight and not _is_shown(text, match.start())


def _told_span(text: str, match: re.Match[str]) -> Span | None:
    """Where a code that a barrier leads to stands; nothing where it is a reading, a year or another number."""
    start, end = match.span("code")
    between, kept, link = match.group("between"), match.group("barrier").lower(), match.group("link")
    if _MACHINE_RE.search(between) or _NOT_LED_RE.search(between) or (kept.endswith(" code") and link == "number"):
        return None
    if _PAIR_RE.fullmatch(match.group("code")) and not kept.startswith(("lock", "key", "pad")):
        return None
    for _ in range(3):
        if not _UNIT_RE.match(text, end):
            break
        cut = max(text.rfind(" ", start, end), text.rfind(",", start, end))
        if cut <= start:
            return None
        end = cut
    code = text[start:end].rstrip(" ,-")
    figures = "".join(expand_figures(code))
    if len(figures) < (3 if link and " " in code else _LONE) or (
        _YEAR_RE.fullmatch(code) and not link and len(between) > _FITTING
    ):
        return None
    if kept.endswith(" code") and (_machine_around(text, match) or len(figures) < _LONE):
        return None
    return start, start + len(code)


def _machine_around(text: str, match: re.Match[str]) -> bool:
    around = text[max(0, match.start() - 50) : match.start()] + " " + text[match.end() : match.end() + 30]
    return (
        _SHOWN_RE.search(around) is not None or re.search(r"(?i)\b(?:error|machine|display|panel|shows?)\b", around) is not None
    )


def barriers_of(text: str, codes: Iterable[Span]) -> list[Span]:
    """Codes with the words that lead to each ("side gate 4410"): beside them a name may stand."""
    led = []
    for start, end in codes:
        before = _LEADING_RE.search(text, max(0, start - 40), start)
        led += [(before.start(), end)] if before else []
    return led
