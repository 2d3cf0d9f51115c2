"""Finds how to get into a home: codes of gates, doors, alarms and key boxes, passwords, and where the key lies."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kbindex.reading.private_words import (
    FIGURE,
    UNIT,
    Chance,
    Span,
    chance_of,
    compile_bounded,
    expand_figures,
    has_figures,
    is_capitalised,
)

_SPOKEN = rf"(?:{FIGURE}|\d{{1,4}})(?:[ \t,-]{{1,2}}(?:{FIGURE}|\d{{1,4}})\b){{1,9}}"
_TAIL = r"(?:(?:[ \t,]+(?:then|and))?[ \t]?[#*]{1,2}|[ \t,]+(?:and[ \t]+|then[ \t]+)?(?:the[ \t]+)?(?:pound|hash|star|asterisk|hashtag)\b(?:[ \t]+(?:key|sign))?)?"
_CODE = rf"(?P<code>(?:{_SPOKEN}|[#*]?(?:\d[ \t.-]){{2,7}}\d|\d{{1,2}}[#*]\d{{3,6}}|[B-HJ-Z][ \t]\d{{4}}|[#*]?[A-Za-z]?-?\d[\dA-Za-z]{{2,9}}){_TAIL})(?!\w)"

_BARRIER = (
    r"(?:gate|lock[ -]?box(?:es)?|key[ -]?(?:safe|box)|alarm|entry|entrance|garage|lobby|intercom|padlock|keypad|buzzer|bz|bzr|"
    r"call[ -]?box|(?:front|back|side|main|street|building|outside|outer|basement|cellar|patio|yard|shed)[ \t]+(?:door|entrance|gate))"
)
_ANY_DOOR = rf"(?:{_BARRIER}|door|building|security|access|elevator|lift|house|fence|pool|shed|yard|basement|cellar|burglar|key|apartment|stairwell)"
_SAYS = r"(?:[ \t]*(?:is|was|are|now|it's|that's|'s|s|still|set[ \t]+to|changed[ \t]+to|to[ \t]+get[ \t]+in|in|of|:|=|->|,|-|#|no\.?)(?![a-z])){0,4}[ \t]*"
_FITTING = r"(?:[ \t]+(?:door|gate|lock|keypad|pad|panel|box|entry|access|opener|system))?"

_CODE_OF_RES = tuple(
    compile_bounded(pattern, re.IGNORECASE)
    for pattern in (
        rf"\b{_ANY_DOOR}{_FITTING}(?:'s)?[ \t]*(?:code|combo|combination|pin|passcode|password|number|keycode)s?{_SAYS}(?:(?:for|to|on|at)[ \t]+(?:the|her|his|their)[ \t]+\w+{_SAYS})?{_CODE}",
        rf"\b(?:code|combo|combination|pin|passcode|password|number)[ \t]+(?:for|to|of|on|at|by)[ \t]+(?:(?:the|her|his|their|that|my|our|this)[ \t]+)?(?:\w+[ \t]+){{0,2}}?{_ANY_DOOR}{_FITTING}{_SAYS}{_CODE}",
        rf"\b(?:lock[ -]?box|key[ -]?(?:safe|box)|padlock|keypad)[ \t]+(?:on|by|at|under|behind|near|beside)[ \t]+(?:\w+[ \t]+){{1,3}}?\(?(?:is[ \t]+)?{_CODE}",
        rf"\b(?:disarm|unlock|let[ \t]+yourself[ \t]+in|get[ \t]+in)[a-z]*[ \t]+(?:it[ \t]+)?(?:with|w/|using|by)[ \t]+(?:code[ \t]+)?{_CODE}",
        rf"\b{_BARRIER}\b[^.\n\d]{{0,40}}?[ \t](?:off|open|opens|in|up|disarm|unlock)[ \t]+(?:with|w/|by|using)[ \t]+{_CODE}",
        r"\bbuzz[ \t]+(?:apt\.?[ \t]+|no\.?[ \t]+|#)?(?P<code>\d{3,4})\b",
        rf"\b(?:door|key)?[ \t]?(?:combo|combination|passcode|key[ \t]?code)\b{_SAYS}{_CODE}",
    )
)
_TURN = r"(?:rt?|right|lt?|left)"
_DIAL_RE = compile_bounded(
    rf"(?<![\w.$])(?:(?:\d{{1,2}}|{FIGURE}(?:[ -]{FIGURE})?)[ \t-]?{_TURN}\b[ \t,-]*(?:\d{{1,2}}|{FIGURE}(?:[ -]{FIGURE})?)[ \t-]?{_TURN}\b[ \t,-]*(?:\d{{1,2}}|{FIGURE}(?:[ -]{FIGURE})?)(?:[ \t-]?{_TURN})?"
    rf"|{_TURN}[ \t-]?\d{{1,2}}[ \t,-]+{_TURN}[ \t-]?\d{{1,2}}[ \t,-]+{_TURN}[ \t-]?\d{{1,2}})(?![\w.])",
    re.IGNORECASE,
)
_BARRIER_THEN_CODE_RE = compile_bounded(
    rf"\b(?P<barrier>{_BARRIER}){_FITTING}(?:'s)?(?:[ \t]*(?:is|:|=|-|#|w/|with|opens?(?:[ \t]+(?:with|w/|by|on))?|takes|wants|off|disarms?|disarmed|armed|by|on|use|at|,|\()){{0,3}}[ \t]*{_CODE}",
    re.IGNORECASE,
)
_CODE_THEN_BARRIER_RE = compile_bounded(
    rf"(?<![\w#.$-]){_CODE}[ \t,]*(?:opens|unlocks|for|to|on|at|into|is|gets[ \t]+(?:you|me|us|one)[ \t]+(?:in|into|through|past)|lets[ \t]+(?:you|me|us)[ \t]+in|works[ \t]+on|disarms|turns[ \t]+off|kills|=)[ \t]+(?:(?:the|her|his|their|that)[ \t]+)?(?:\w+[ \t]+)?{_BARRIER}",
    re.IGNORECASE,
)
_KEYED_IN_RE = compile_bounded(
    rf"\b(?:punch|key|type|dial|tap|enter|press|buzz|hit)(?:ed|s)?[ \t]+(?:in[ \t]+)?(?:the[ \t]+)?(?:code[ \t]+)?{_CODE}",
    re.IGNORECASE,
)
_PLAIN_CODE_RE = compile_bounded(rf"(?P<sort>\w+[ \t]+)?\bcode(?:'?s)?\b{_SAYS}{_CODE}", re.IGNORECASE)
_HASH_CODE_RE = compile_bounded(r"(?<![\w#$.*])[#*]?\d{4,8}#(?!\w)")
_NEAR_RE = compile_bounded(rf"\b{_BARRIER}\b|\b(?:get|let|buzz)[a-z]*[ \t]+(?:\w+[ \t]+)?in\b", re.IGNORECASE)
_ENTERED_RE = compile_bounded(
    r"\b(?:to[ \t]+enter|small|outside|glass|main|first)?[ \t]*\b(?:door|entrance|enter)\b", re.IGNORECASE
)
_MACHINE_CODE_RE = compile_bounded(
    r"\b(?:error|err|fault|faults|diag\w*|display\w*|panel|shows?|showing|throws?|threw|flash\w*|blink\w*|beep\w*|board|reads?|machine|washer|"
    r"dryer|dishwasher|oven|range|fridge|stor(?:ed|es)|trouble|service|test mode)\b",
    re.IGNORECASE,
)
_MACHINE_SORT_RE = compile_bounded(
    "error|err|fault|trouble|service|diagnostic|diag|test|part|model|date|bar|country|color|colour|zip|area|post|lot|batch|blink|flash"
)
_PASSWORD_RE = compile_bounded(
    r"\b(?:wi-?fi|password|passphrase|passcode|pass word|pw)(?:[ \t]+(?:password|code|key|pw|pass))?[ \t]*(?:is|:|=)[ \t]*[\"']?([^\s\"',;]{3,40})",
    re.IGNORECASE,
)
_WIFI_RE = compile_bounded(r"\bwi-?fi\b[^.\n:]{0,30}:[ \t]*([^\s\"',;]*\d[^\s\"',;]*)", re.IGNORECASE)
""" "Wifi for her gauge: ruby77"."""
_WORDED_CODE_RE = compile_bounded(
    r"\bcode(?:'s|[ \t]+(?:is|was)|[ \t]*:)[ \t]+(?P<code>(?:[a-z']+[ \t]+){1,6}?(?:then|and|plus)[ \t]+(?:the[ \t]+)?(?:pound|hash|star|asterisk)\b)",
    re.IGNORECASE,
)
""" "The code is the year then pound"."""
_UNIT_RE = compile_bounded(UNIT, re.IGNORECASE)
_JOB_BEFORE_RE = compile_bounded(r"(?:\b(?:job|ticket|wo|order|no|number|part|model|invoice)\.?|#)[ \t:#]*$", re.IGNORECASE)

_TOOL_KEY_RE = compile_bounded(
    "allen|hex|torx|woodruff|shaft|chuck|drill|drive|spline|hub|start|stop|star|pound|program|menu|mode|arrow|number|enter|hash|blade|lock|function|power|low|turn|touch|clear|cancel|ignition|hex"
)
_PLACE = (
    r"(?:pots?|flower-?pots?|planters?|mats?|doormat|welcome[ \t]mat|rocks?|stones?|bricks?|frogs?|toads?|gnomes?|turtle|mail-?box|letter-?box|meter[ \t]box|shed|porch|hook|nail|"
    r"sill|windowsill|ledge|neighbou?rs?|next[ \t]door|drain[ -]?pipe|door[ -]?frame|lintel|downspout|gutter|bins?|barrels?|grill|bbq|statue|lantern|bench|step|steps|stoop|wheelie|trellis|bush|hedge|tree|"
    r"fence|gatepost|birdhouse|birdbath|watering[ \t]can|tyre|tire|log|logs|woodpile|eaves|rafter|carport|greenhouse|desk|reception|front[ \t]desk|office|super|manager|concierge|doorman|fuse[ \t]box|electric[ \t]box|dog[ \t]?house|kennel|boots?|urn|basket|wreath|swing|chair|table|cushion)"
)
_KEY_RE = compile_bounded(
    r"(?P<before>[\w'-]+[ \t]+)?\b(?P<key>keys?|hide-?a-?key)"
    r"(?P<state>(?:'s|[ \t]+(?:is|are|was|will[ \t]+be|left|hidden|hid|kept|lives|stays|hangs|hanging|sits|always|still|usually|just|lies|stashed|tucked|taped|out|back|up)){0,3})"
    r"[ \t]*[,:=-]?[ \t]*(?P<where>(?:on[ \t]+)?top[ \t]+of|under(?:neath)?|behind|beneath|below|inside|in|on|with|w/|at|above|over|atop|by|next[ \t]to|beside)[ \t]+"
    r"(?P<thing>(?:[\w'/-]+[ \t]+){0,6}?[\w'/-]+)(?=[ \t]*(?:[.,;:!?()\n]|$|[ \t](?:and|so|then|but|if|when|because|dog|call|phone|gate|she|he|i|we)\b))",
    re.IGNORECASE,
)
_HIDING = frozenset(["under", "underneath", "behind", "beneath", "below"])


def find_codes(text: str) -> Iterator[Span]:
    """Find entry codes and passwords; the machines' own error codes are left."""
    lower = text.lower()
    if re.search(r"wi-?fi|pass|pw", lower):
        yield from (match.span(1) for match in _PASSWORD_RE.finditer(text) if _is_password(match.group(1)))
        yield from (match.span(1) for match in _WIFI_RE.finditer(text))
    if "code" in lower:
        yield from (match.span("code") for match in _WORDED_CODE_RE.finditer(text))
    if not has_figures(text):
        return
    yield from (match.span() for match in _HASH_CODE_RE.finditer(text)) if "#" in text else ()
    yield from (match.span() for match in _DIAL_RE.finditer(text))
    if re.search("code|comb|pin|pass|number|lock|key|buzz|arm|gate| in ", lower):
        for pattern in _CODE_OF_RES:
            yield from _long_codes(text, pattern, 3)
    if _NEAR_RE.search(text):
        yield from _find_at_barrier(text)
    if "code" in lower:
        yield from _find_plain(text)
    if re.search(r"punch|key|type|dial|tap|enter|press|buzz|hit", lower):
        yield from _find_keyed_in(text)


def _is_password(word: str) -> bool:
    return not word.isalpha() or word.isupper() or chance_of(word) >= Chance.UNKNOWN


def _long_codes(text: str, pattern: re.Pattern[str], least: int) -> Iterator[Span]:
    for match in pattern.finditer(text):
        if _count(match.group("code")) >= least and not _UNIT_RE.match(text, match.end("code")):
            yield match.span("code")


def _count(code: str) -> int:
    return len("".join(expand_figures(code)))


def _find_at_barrier(text: str) -> Iterator[Span]:
    for match in _BARRIER_THEN_CODE_RE.finditer(text):
        code, barrier = match.group("code"), match.group("barrier").lower()
        sure = barrier.startswith(("gate", "lock", "key", "bz", "padlock")) or code[-1] in "#*"
        is_hour = not sure and re.fullmatch(r"\d{1,2}[ \t]\d\d", code) is not None
        if _count(code) >= (3 if sure else 4) and not is_hour and not _UNIT_RE.match(text, match.end("code")):
            yield match.span("code")
    for match in _CODE_THEN_BARRIER_RE.finditer(text):
        if _count(match.group("code")) >= 4 and not _JOB_BEFORE_RE.search(text[max(0, match.start() - 14) : match.start()]):
            yield match.span("code")


def _find_keyed_in(text: str) -> Iterator[Span]:
    """ "Punch 4417 and the star key" is for a gate, "press 1 2 3" is for a machine unless a gate is spoken of."""
    for match in _KEYED_IN_RE.finditer(text):
        around = text[max(0, match.start() - 60) : match.start()] + " " + text[match.end() : match.end() + 40]
        closed = re.search(r"[#*]|pound|hash|star|asterisk", match.group("code").lower())
        entered = _ENTERED_RE.search(around) is not None and _count(match.group("code")) >= 4
        if closed or entered or (_NEAR_RE.search(around) and _count(match.group("code")) >= 3):
            yield match.span("code")


def _find_plain(text: str) -> Iterator[Span]:
    """ "The code is 4417" is an entry code where a gate is near, or where no machine is spoken of."""
    for match in _PLAIN_CODE_RE.finditer(text):
        code, start, end = match.group("code"), match.start("code"), match.end("code")
        sort = (match.group("sort") or "").strip().lower()
        if _MACHINE_SORT_RE.fullmatch(sort) or _count(code) < 3 or _UNIT_RE.match(text, end):
            continue
        around = text[max(0, start - 70) : start] + " " + text[end : end + 40]
        alone = _count(code) >= 4 and not _MACHINE_CODE_RE.search(around) and (" " in code or not code[0].isalpha())
        if alone or _NEAR_RE.search(around):
            yield start, end


def find_key_hints(text: str) -> Iterator[Span]:
    """Find where a house key is said to lie: "key under the third pot", "spare key left with Rab"."""
    if "key" not in text and "Key" not in text and "KEY" not in text:
        return
    for match in _KEY_RE.finditer(text):
        before = (match.group("before") or "").strip().lower()
        if _TOOL_KEY_RE.fullmatch(before):
            continue
        where, thing = match.group("where").lower(), match.group("thing")
        house_key = before in ("spare", "house") or (where in _HIDING and bool(match.group("state")))
        if house_key or re.search(rf"\b{_PLACE}\b", thing, re.IGNORECASE) or (where in ("with", "w/") and _is_somebody(match)):
            yield match.start("key"), match.end("thing")


def _is_somebody(match: re.Match[str]) -> bool:
    """Whether a key "with ..." is with a person: it was left there, or a name follows."""
    return bool(match.group("state")) or any(is_capitalised(word) for word in match.group("thing").split())
