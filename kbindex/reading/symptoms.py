"""Complaints: their tags, counts of beeps and blinks, and error codes in any form."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from kbindex.reading.lexicon import Lexicon, plain
from kbindex.reading.numbers import NUMBER, value_of

_SIGNAL = (
    r"(?:short |long |quick |loud |little |red |green )*"
    r"(?:(?:beep|beet|bleep|chirp|blink|flash|blip|chime|pip|piep|tone)(?:s|es|ed|ing|in)?|bps?(?![a-z]))"
)
_NO_UNIT = r"(?!\w|\s*(?:minutes?|mins?|seconds?|secs?|hours?|lights?|lamps?|leds?|or so|%|volts?|degrees?))"
_COUNT_RES = (
    re.compile(rf"(?<![\w.])(?P<n>{NUMBER})\s*-?\s*{_SIGNAL}\b", re.IGNORECASE),
    re.compile(rf"(?<![\w.])(?P<n>\d+)\s?x\s+{_SIGNAL}\b", re.IGNORECASE),
    re.compile(rf"\b{_SIGNAL}(?:\b|(?=\d))\s*[,:]?\s*(?:\(?x\s?(?P<x>\d+)\)?|(?P<n>{NUMBER}){_NO_UNIT})", re.IGNORECASE),
    re.compile(rf"\b{_SIGNAL}\b[^.?!]{{0,40}}?\b(?:(?:in )?(?:sets|groups|bursts) of)\s+(?P<n>{NUMBER})\b", re.IGNORECASE),
    re.compile(
        rf"\b{_SIGNAL}\b[^.?!]{{0,40}}?(?:\b(?P<n>{NUMBER})\s?(?:x\b|times\b)(?! (?:a|per|an) )|\b(?P<once>once|twice|thrice)\b)",
        re.IGNORECASE,
    ),
    re.compile(rf"\b(?:sets|groups|bursts) of\s+(?P<n>{NUMBER})\b(?=[^.?!]{{0,30}}{_SIGNAL}|\s*[.,]|$)", re.IGNORECASE),
)
_REPEATED_RE = re.compile(r"\b(?P<word>beep|bleep|piep|pip|chirp|blink|flash|ding)(?:[\s,-]+(?P=word)\b){1,9}", re.IGNORECASE)
_MULTIPLES = {"once": 1, "twice": 2, "thrice": 3}


_COLD = frozenset(["refrigerator", "freezer", "wine cooler"])
_HOT = frozenset(["dryer", "oven", "range", "cooktop", "water heater", "coffee machine"])
_MEANT: Mapping[tuple[str, str], str] = {
    **{("no_heat", machine): "no_cool" for machine in _COLD},
    **{("no_cool", machine): "no_heat" for machine in _HOT},
    ("no_spin", "disposer"): "no_start",
    ("no_spin", "microwave"): "poor_result",
    ("no_spin", "trash compactor"): "no_start",
}
"""A complaint in the words of another machine -> what it is on this one ("warm" of a refrigerator, "cold" of an oven)."""
_COVERED = (("no_heat", "dead"), ("dead", "no_start"))
"""Of two tags read from one sentence, the second is said by the same words ("back left burner dead", "dead, won't turn on")."""


def find_tags(text: str, lexicon: Lexicon, machine: str | None = None) -> tuple[str, ...]:
    """Read the symptom tags of a text, in the order in which they are named; `machine` tells "warm" from "cold"."""
    said = (_MEANT.get((one.name, machine or ""), one.name) for one in lexicon.symptoms.find(text))
    tags = tuple(dict.fromkeys(said))
    covered = {second for first, second in _COVERED if first in tags and second in tags}
    return tuple(tag for tag in tags if tag not in covered)


def find_count(text: str) -> int | None:
    """Read how many beeps or blinks a text tells of: "three beeps", "beeps 3x", "beeps three times", "beep beep beep"."""
    text = plain(text)
    for pattern in _COUNT_RES:
        for match in pattern.finditer(text):
            groups = match.groupdict()
            if groups.get("once"):
                return _MULTIPLES[groups["once"].lower()]
            value = value_of(groups.get("n") or groups.get("x") or "")
            if value is not None and value == int(value) and 1 <= value <= 30:
                return int(value)
    repeated = _REPEATED_RE.search(text)
    return len(re.findall(r"[a-z]+", repeated.group(), re.IGNORECASE)) if repeated else None


_DIGIT_WORDS = (
    "zero oh one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
    "twenty thirty forty fifty sixty seventy eighty ninety"
).split()
_DIGIT = rf"(?:\d{{1,3}}|(?:{'|'.join(sorted(_DIGIT_WORDS, key=len, reverse=True))}))"
_CUE_RE = re.compile(
    r"\b(?:codes?|error|err|fault|show(?:ing|s|ed|n)?|display(?:s|ed|ing)?|reads|reading|says|saying|flash(?:es|ed|ing)?|thr[oe]w(?:s|ing|n)?|gives?|giving|gave|pulled|stored|"
    r"(?:up )?com(?:es|ing)|came up|pop(?:s|ped)|beep\w* with|with|put(?:s|ting)? (?:it )?(?:up|on)?|letter|get(?:s|ting)? an?|got an?|now an?|panel|screen|glass|window|again)\b",
    re.IGNORECASE,
)
_TAIL = r"(?![\w.-]?\d|\w|\s*(?:v\b|volts?|ohms?|amps?|degrees?|beep|blink|times?|minutes?|mins?|hours?|of\b|inch|screws?))"
_CODE_RES = (
    # E24, F-21, F3E1, F3 E1
    (re.compile(rf"(?<![\w/.-])(?P<code>[A-Z]{{1,2}}-?\d{{1,3}}(?:[\s-]?[EFC]-?\d{{1,2}})?){_TAIL}"), False),
    # F 21, E, two, four, I-2-0, E-five
    (re.compile(rf"(?<![\w/.-])(?P<code>[A-Z]{{1,2}}(?:[\s,.-]{{1,2}}{_DIGIT}){{1,4}}){_TAIL}"), True),
    # e two four, f seven, e 6: as captions without capitals write it
    (
        re.compile(
            rf"(?<![\w/.'-])(?<!degrees )(?<!deg )(?<!\d )(?P<code>[efhu](?:[\s,.-]{{0,2}}{_DIGIT}){{1,4}}){_TAIL}",
            re.IGNORECASE,
        ),
        True,
    ),
    # letter C and number nine
    (re.compile(rf"\bletter (?P<code>[a-z](?: and| then|,)?(?: number)?(?:[\s,-]+{_DIGIT}){{1,3}})\b", re.IGNORECASE), False),
    # 5E, 4E; four e
    (re.compile(r"(?<![\w/.-])(?P<code>\d[EC])(?![\w°])"), False),
    (re.compile(rf"(?<![\w/.-])(?P<code>{_DIGIT} [ech])\b(?! (?:and|or) )", re.IGNORECASE), True),
    # code OE, HI flashing, shows dE
    (
        re.compile(
            r"\b(?:[Cc]ode|[Ee]rror|[Ss]hows|[Ss]howing|[Dd]isplay\w*|[Rr]eads|[Ss]ays|[Ff]lashing)\W+(?:an? |the |is |of |it |says |just )*(?P<code>[A-Z]{2,3}|[a-z][A-Z])\b"
        ),
        False,
    ),
    (
        re.compile(r"^\W*(?P<code>[A-Z]{2})(?= (?:flashing|flashes|blinking|on (?:the )?(?:display|screen|panel)|code|error))"),
        False,
    ),
    # error 57, err 08
    (
        re.compile(
            r"\b(?:error|err|fault|code)\s*(?:codes?|number|no\.?|#)?\s*(?P<code>\d{1,3})(?![\w.]?\d|\s*(?:times|years|minutes))",
            re.IGNORECASE,
        ),
        False,
    ),
)
_NOT_CODES_RE = re.compile(
    r"^(?:[AVWI]\d|R\d{2,3}|AC|DC|OK|TV|GFI|GFCI|USB|LED|CO|IN|IS|IT|AT|ON|OFF|NO|AM|PM|TO|OR|BY|OF|UP|T\d{1,2}$|DW|WM|FF|FZ|L[12]$|N1|C1|H2O|LF|RF|LR|RR|MW|WH|HW|ID|OD|MM|PA\d|WO\d|JOB)",
    re.IGNORECASE,
)


def find_code(text: str) -> str | None:
    """Read an error code in any form: "E24", "F 21", "e two four", "error code 57", "5E"; None where there is none.

    The code comes back without spaces, letters upper case ("E24", "F3E1").
    """
    return next(_codes_of(plain(text)), None)


def _codes_of(text: str) -> Iterator[str]:
    has_cue = _CUE_RE.search(text) is not None
    for pattern, needs_cue in _CODE_RES:
        for match in pattern.finditer(text):
            words = match.group("code")
            spelt_out = words[:1].isupper() and re.search(r"[a-z]{2}", words) is not None
            code = _compact(words)
            if (has_cue or spelt_out or not needs_cue) and _is_code(code, words):
                yield code


def _is_code(code: str, words: str) -> bool:
    """ "I-2-0" is one, "I 2" is somebody speaking; names of units, rooms and hours are none."""
    return code != "" and ("-" in words if code.startswith("I") else not _NOT_CODES_RE.match(code))


def _compact(words: str) -> str:
    """Bring the letters and figures of a code together: "E, two, four" is E24, "e eighteen" E18."""
    code = ""
    for token in re.findall(r"[A-Za-z]+|\d+", words):
        lower = token.lower()
        if lower in ("and", "then", "number"):
            continue
        if lower not in _DIGIT_WORDS:
            code += token.upper()
        elif lower == "oh":
            code += "0"
        else:
            value = int(value_of(lower) or 0)
            code = code[:-1] + str(value) if value < 10 and re.search(r"[2-9]0$", code) and value else code + str(value)
    return code
