"""Numbers in speech and shorthand: "twenty-two", "a hundred and fifty", "two and a half", "38.50", "35".

Spoken year-like pairs ("twenty fifty-seven") are read as one number only where a caller asks for an identifier.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
)
_UNITS = {word: value for value, word in enumerate(_ONES.split())}
_TENS = {
    word: 10 * (place + 2)
    for place, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"])
}
_TENS["fourty"] = 40
_SCALES = {"hundred": 100, "thousand": 1000}

_WORD = r"(?:{})".format("|".join(sorted([*_UNITS, *_TENS, *_SCALES], key=len, reverse=True)))
NUMBER = (
    rf"(?>(?<!\d)(?:\d{{1,3}}(?:,\d{{3}})+(?:\.\d+)?|\d*\.\d+|\d+)|(?:an?\s+)?{_WORD}"
    rf"(?:[\s-]+(?:(?:(?<=hundred\s)|(?<=thousand\s))and\s+)?{_WORD}){{0,9}}(?:\s+point(?:\s+{_WORD}){{1,6}})?)"
    rf"(?:\s+and\s+a\s+half)?"
)
"""Pattern of a number in figures or words, without groups; `value_of` reads what it matches."""

_NUMBER_RE = re.compile(rf"(?<![\w.]){NUMBER}(?!\w)", re.IGNORECASE)


@dataclass(frozen=True)
class Number:
    """A number with the place of its words in the text."""

    value: float
    start: int
    end: int


def find_numbers(text: str) -> list[Number]:
    """Find the numbers of a text in order."""
    found = []
    for match in _NUMBER_RE.finditer(text):
        value = value_of(match.group())
        if value is not None:
            found.append(Number(value, match.start(), match.end()))
    return found


def value_of(words: str) -> float | None:
    """Read one number in figures or words; None where the words are no number."""
    words = words.lower().strip()
    half = 0.0
    if words.endswith("and a half"):
        words, half = words.removesuffix("and a half").strip(), 0.5
    figures = words.replace(",", "")
    if re.fullmatch(r"\d*\.?\d+", figures):
        return float(figures) + half
    tokens = [token for token in re.split(r"[\s-]+", words) if token not in ("and", "a", "an", "")]
    if "point" in tokens:
        place = tokens.index("point")
        whole, decimals = _whole(tokens[:place]), [_UNITS.get(token) for token in tokens[place + 1 :]]
        if whole is None or not decimals or None in decimals:
            return None
        return whole + float("0." + "".join(str(digit) for digit in decimals))
    whole = _whole(tokens)
    return None if whole is None else whole + half


def _whole(tokens: list[str]) -> float | None:
    """Add up number words; "one twenty" and "two fifty" are read as hundreds, as people price things."""
    if not tokens:
        return None
    total, current, last = 0, 0, ""
    for token in tokens:
        if token in _SCALES:
            current = max(current, 1) * _SCALES[token]
            if token == "thousand":
                total, current = total + current, 0
        elif token in _TENS:
            if last in _UNITS and 0 < current < 100 or last in _TENS:
                current *= 100
            current += _TENS[token]
        elif token in _UNITS:
            if _UNITS[token] >= 10 and 0 < current < 100:
                current *= 100
            elif last in _UNITS and current < 10:
                current *= 10
            current += _UNITS[token]
        else:
            return None
        last = token
    return float(total + current)


def split_numbers(words: str) -> list[float]:
    """Read numbers that were said one after another: "ninety ninety five" is 90 and 95, "twenty-three fifty" 23 and 50.

    Words that are no number, or hold a decimal, give an empty list.
    """
    groups: list[list[str]] = []
    for token in re.split(r"[\s-]+", words.lower().strip()):
        if token in ("and", "a", "an", ""):
            continue
        if not (token.isdigit() or token in _UNITS or token in _TENS or token in _SCALES):
            return []
        if groups and _goes_on(groups[-1][-1], token):
            groups[-1].append(token)
        else:
            groups.append([token])
    values = [float(group[0]) if group[0].isdigit() else _whole(group) for group in groups]
    return [value for value in values if value is not None]


def _goes_on(last: str, token: str) -> bool:
    """Whether a word can belong to the number that the last word is part of, as it is written out in full."""
    if last.isdigit() or token.isdigit():
        return False
    if token in _SCALES or last in _SCALES:
        return True
    return last in _TENS and 0 < _UNITS.get(token, 0) < 10


def read_identifier(words: str) -> str | None:
    """Read a spoken or written identifier of figures: "2057", "20 57", "two zero five seven", "twenty fifty-seven"."""
    digits = ""
    pending_tens = False
    for token in re.split(r"[\s,-]+", words.lower().strip()):
        if token.isdigit():
            digits, pending_tens = digits + token, False
        elif token in ("oh", "o"):
            digits, pending_tens = digits + "0", False
        elif token in _TENS:
            digits, pending_tens = digits + str(_TENS[token]), True
        elif token in _UNITS:
            value = _UNITS[token]
            if pending_tens and value < 10:
                digits = digits[:-1] + str(value)
            else:
                digits += str(value)
            pending_tens = False
        elif token in ("hundred", "and", ""):
            if token == "hundred":
                digits, pending_tens = digits + "00", False
        else:
            return None
    return digits or None
