"""Complaints: their tags, counts of beeps and blinks, and error codes in any form."""

from __future__ import annotations

import re

from kbindex.reading.lexicon import Lexicon, plain
from kbindex.reading.numbers import NUMBER, value_of

_SIGNAL = r"(?:short |long |quick |loud |little )*(?:beep|beet|bleep|chirp|blink|flash|blip|chime|pip|tone)(?:s|es|ed|ing)?"
_COUNT_RES = (
    re.compile(rf"(?<![\w.])(?P<n>{NUMBER})\s*-?\s*{_SIGNAL}\b", re.IGNORECASE),
    re.compile(
        rf"\b{_SIGNAL}\b(?:\s+(?:at (?:me|you|her|him|us)|the \w+|it|out))?\s*[,:]?\s*(?:\(?x\s?(?P<x>\d+)\)?|(?P<n>{NUMBER})\s?(?:x\b|times\b)|"
        rf"(?P<once>once|twice|thrice))",
        re.IGNORECASE,
    ),
    re.compile(rf"(?<![\w.])(?P<n>\d+)\s?x\s+{_SIGNAL}\b", re.IGNORECASE),
    re.compile(
        rf"\b{_SIGNAL}\b[^.?!]{{0,40}}?\b(?:in (?:sets|groups|bursts) of|groups of|sets of|bursts of)\s+(?P<n>{NUMBER})\b",
        re.I,
    ),
    re.compile(rf"\b(?:sets|groups|bursts) of\s+(?P<n>{NUMBER})\b(?=[^.?!]{{0,30}}{_SIGNAL}|\s*[.,]|$)", re.I),
)
_MULTIPLES = {"once": 1, "twice": 2, "thrice": 3}


def find_tags(text: str, lexicon: Lexicon) -> tuple[str, ...]:
    """Read the symptom tags of a text, in the order in which they are named."""
    return tuple(dict.fromkeys(said.name for said in lexicon.symptoms.find(text)))


def find_count(text: str) -> int | None:
    """Read how many beeps or blinks a text tells of: "three beeps", "beeps 3x", "beeps three times", "x3"."""
    for pattern in _COUNT_RES:
        for match in pattern.finditer(plain(text)):
            groups = match.groupdict()
            if groups.get("once"):
                return _MULTIPLES[groups["once"].lower()]
            value = value_of(groups.get("n") or groups.get("x") or "")
            if value is not None and value == int(value) and 1 <= value <= 30:
                return int(value)
    return None


_SPOKEN_DIGIT = r"(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|twenty[\s-]?\w*|thirty[\s-]?\w*|forty[\s-]?\w*|\d)"
_CODE_CUE = r"(?:code|error|err|fault|showing|shows|showed|shown|display(?:s|ed|ing)?|reads|reading|says|flash(?:es|ed|ing)|throws?|throwing|threw|throw(?:ed|n)|gives?|giving|gave|pulled|stored|up comes|comes up|came up|pops up|popped up|beeping with|beeps with|with|throw up|letter|got an?|getting an?|an)"
_LETTERED_RE = re.compile(
    r"\b(?P<code>[A-Z]{1,2}[\s,.-]{0,2}\d{1,3}(?:[\s,-]{0,2}[A-Z](?![a-z]))?(?:[\s,-]*[EF]\s?-?\d{1,2})?)\b"
)
_LOWER_RE = re.compile(
    rf"\b{_CODE_CUE}\W+(?:\w+\W+){{0,3}}?(?P<code>[a-z]{{1,2}}[\s,.-]{{0,2}}\d{{1,3}}(?:\s?-?[ef]\s?-?\d{{1,2}})?)\b",
    re.IGNORECASE,
)
_SPELT_RE = re.compile(
    rf"\b(?P<letters>[A-Z](?:[\s,.-]+[A-Z])?|e|f|h|u)[\s,.-]+(?P<digits>{_SPOKEN_DIGIT}(?:[\s,.-]+{_SPOKEN_DIGIT})*)\b(?!\s*(?:beep|blink|time|minute|of\b))",
)
_DIGIT_LETTER_RE = re.compile(r"\b(?P<code>\d{1,2}[\s-]?[A-Z]{1,2}\d?)\b")
_LETTERS_RE = re.compile(
    r"\b(?:code|error|shows|showing|display\w*|reads|flashing)\W+(?:an? |the |is |of |it |says |just )*(?P<code>[A-Z]{2,3}|[a-z][A-Z])\b"
)
_NUMBER_CODE_RE = re.compile(r"\b(?:error|fault|code)\s*(?:code|number|no\.?|#)?\s*(?P<code>\d{1,3})\b", re.IGNORECASE)
_NOT_LETTERS = frozenset(["a", "i"])
_NOT_CODES = re.compile(
    r"^(?:[AV]\d|R\d{3}|AC|DC|OK|TV|GFI|GFCI|USB|LED|CO|IN|ON|OFF|NO|AM|PM|T\d{1,2}$|DW|L1|L2|N1|C1)", re.IGNORECASE
)
_WORD_DIGITS = {
    "zero": "0", "oh": "0", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7",
    "eight": "8", "nine": "9", "ten": "10", "eleven": "11", "twelve": "12", "twenty": "20", "thirty": "30", "forty": "40",
}  # fmt: skip


def find_code(text: str) -> str | None:
    """Read an error code in any form: "E24", "F 21", "e two four", "error code 57", "5E"; None where there is none.

    The code comes back without spaces, letters upper case ("E24", "F3E1").
    """
    text = plain(text)
    opening = re.match(
        r"\s*(?P<code>[EFHUCPLd]\d{1,2}(?:[EF]\d)?|\d[EC])(?:\s+(?:again|coming|on|&|and|error|up|flashing|showing|then)\b|\s*[.,:]|\s*$)",
        text,
        re.I,
    )
    if opening:
        return opening.group("code").upper()
    has_cue = re.search(rf"\b{_CODE_CUE}\b", text, re.IGNORECASE) is not None
    for pattern, needs_cue in (
        (_LETTERED_RE, True),
        (_LOWER_RE, False),
        (_DIGIT_LETTER_RE, True),
        (_LETTERS_RE, False),
        (_NUMBER_CODE_RE, False),
    ):
        if needs_cue and not has_cue:
            continue
        for match in pattern.finditer(text):
            code = re.sub(r"[\s,.-]+", "", match.group("code")).upper()
            if not _NOT_CODES.match(code):
                return code
    return _spelt_code(text) if has_cue else None


def _spelt_code(text: str) -> str | None:
    for match in _SPELT_RE.finditer(text):
        letters = re.sub(r"[\s,.-]+", "", match.group("letters"))
        if letters in _NOT_LETTERS or letters == "I" or letters == "A":
            continue
        digits = _spelt_digits(match.group("digits"))
        if digits and len(digits) <= 4:
            return letters.upper() + digits
    return None


def _spelt_digits(words: str) -> str:
    digits = ""
    for token in re.split(r"[\s,.-]+", words.lower()):
        value = token if token.isdigit() else _WORD_DIGITS.get(token)
        if value is None:
            break
        after_tens = digits[-2:] in ("20", "30", "40") and len(value) == 1 and value != "0"
        digits = digits[:-1] + value if after_tens else digits + value
    return digits
