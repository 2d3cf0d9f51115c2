"""Shares as people say them: "eighty percent", "nine times out of ten", "half the time", "almost always".

Fractions and percentages are exact as said. Words without a number follow the medians and quartiles of Mosteller & Youtz
1990, "Quantifying probabilistic expressions", Statistical Science 5:2-34, Table 2 (values from a transcription of it).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from kbindex.reading.numbers import NUMBER, split_numbers, value_of

_WORDS: dict[str, tuple[float, float]] = {
    r"almost always|nearly always|just about always": (0.897, 0.952),
    r"almost never|hardly ever": (0.012, 0.046),
    r"very rarely": (0.012, 0.05),
    r"rarely|seldom": (0.036, 0.10),
    r"more often than not": (0.571, 0.604),
    r"less often than not": (0.348, 0.427),
    r"most of the time|most times|mostly|usually": (0.656, 0.822),
    r"very often": (0.775, 0.899),
    r"always|every (?:single )?time": (0.996, 0.998),
    r"once in a while": (0.099, 0.224),
    r"now and then|now and again": (0.098, 0.25),
    r"occasionally": (0.127, 0.275),
}
"""Pattern -> (lower quartile, upper quartile). "Possible" and "sometimes" are too spread to carry a number."""

_FRACTION = {
    "half": 0.5, "a third": 1 / 3, "one third": 1 / 3, "two thirds": 2 / 3, "a quarter": 0.25, "one quarter": 0.25,
    "three quarters": 0.75, "a fifth": 0.2, "one fifth": 0.2, "a tenth": 0.1, "one tenth": 0.1,
}  # fmt: skip

_PERCENT = r"(?:\s*%|\s*percent\b|\s*per\s?cent\b|\s*pct\b)"
_FILL = r"(?:\s*,?\s*(?:maybe|say|call it|about|around|roughly|like|or so|even|ish)\s*,?)?"
_RANGE_RE = re.compile(
    rf"(?P<low>{NUMBER}){_PERCENT}?\s*(?:-|–|to|or|and|through|,|maybe)?{_FILL}\s*(?P<high>{NUMBER}){_PERCENT}", re.IGNORECASE
)
_WIDEST_RANGE = 0.25
_SINGLE_RE = re.compile(rf"(?P<low>{NUMBER}){_PERCENT}", re.IGNORECASE)
_OUT_OF_RE = re.compile(
    rf"(?P<k>{NUMBER})(?:\s*(?:or|to|-)\s*(?P<k2>{NUMBER}))?(?:\s+(?P<counted>times?|jobs?|calls?|cases?|of them|machines?|units?|tickets?))?[\s-]+"
    rf"(?P<link>(?:out[\s-]+of|outta|out\s+a|from(?=\s+(?:\w+\s?){{1,2}}))|in|of)[\s-]+(?:(?:every|the)\s+)?(?P<n>{NUMBER})"
    rf"(?!\s*(?:minutes|hours|volts|ohms|%|percent|inch|years|days|weeks))",
    re.IGNORECASE,
)
_FRACTION_RE = re.compile(
    r"\b(?P<name>(?:one |two |three |a )?(?:half|thirds?|quarters?|fifth|tenth))\s+(?:of\s+)?"
    r"(?:(?:these|them|'?em|those|all)\b(?:\s+(?:calls?|jobs|ones|machines|cases))?|(?:the|my) (?:times?|calls?|jobs|ones|machines|cases)\b)",
    re.IGNORECASE,
)
_ODDS_RE = re.compile(
    rf"\b(?P<for>{NUMBER})\s+to\s+one\b|\b(?P<even>50\s?[/-]\s?50|fifty[\s-]fifty)\b|\bevery (?P<turn>second|other|third) (?:time|one|call|job)\b",
    re.IGNORECASE,
)
_TURNS = {"second": 0.5, "other": 0.5, "third": 1 / 3}
_WORD_RE = re.compile("|".join(rf"\b(?P<w{n}>{pattern})\b" for n, pattern in enumerate(_WORDS)), re.IGNORECASE)
_CORRECTION_RE = re.compile(
    r"\b(?:no|nah|naw|nope|wait|scratch that|strike that|sorry|actually|call it|make (?:it|that)|i mean|rather|let'?s say|(?:i )?correct(?:ion)?|"
    r"(?:too|being) (?:generous|handsome|kind|harsh)|more like|better say|take(?:ing)? that back|be fair)\b"
)
_LONGEST_CORRECTION = 60
_BARE_CORRECTION_RE = re.compile(
    rf"\W(?:no|nah|naw|nope|wait|sorry|scratch that|strike that|take that back|be fair|generous|handsome|actually)\b[^.;!?]{{0,50}}?"
    rf"(?<![\w.])(?P<value>{NUMBER})(?![\w%]|[\s-]+(?:percent|per\s?cent|in|of|out|outta|times?|minutes?|hours?|volts?|ohms?|amps?|dollars?|bucks|years?|days?|weeks?))",
    re.IGNORECASE,
)
_TOTAL_RE = re.compile(rf"\b(?:of|outta|in|from|a)[\s-]+(?:(?:every|the)\s+)?(?P<n>{NUMBER})$", re.IGNORECASE)
_GOES_ON_RE = re.compile(r"\W*(?:or|to|maybe|even|say)?\W*")
""" "One in fifteen, one in twenty": the ends of a range, said one after the other."""


@dataclass(frozen=True)
class SaidShare:
    """A share read from a text, 0..1, with the place of its words; `counted` is False for words without a number."""

    low: float
    high: float
    start: int
    end: int
    counted: bool = True


def find_shares(text: str) -> list[SaidShare]:
    """Find the shares of a text in order; of a correction ("seventy, no, sixty percent") only the last is kept."""
    found: list[SaidShare] = []
    for reader in (_ranges, _singles, _odds, _out_of, _fractions, _chance_words):
        for share in reader(text):
            if all(share.end <= other.start or share.start >= other.end for other in found):
                found.append(share)
    found = without_corrected(sorted(found, key=lambda share: share.start), text)
    return [_corrected(share, found[number + 1 :], text) for number, share in enumerate(found)]


def _corrected(share: SaidShare, later: list[SaidShare], text: str) -> SaidShare:
    """ "Seventy percent, no, let me be fair, sixty-five", "nine times out of ten, call it eight": the unit is not said again."""
    end = later[0].start if later else len(text)
    match = _BARE_CORRECTION_RE.search(text, share.end, end)
    if match is None or match.start() - share.end > _LONGEST_CORRECTION:
        return share
    words = text[share.start : share.end]
    total = _TOTAL_RE.search(words)
    whole = value_of(total.group("n")) if total else 100.0 if re.search(rf"{_PERCENT}$", words, re.IGNORECASE) else None
    value = value_of(match.group("value"))
    if value is None or not whole or not share.counted or not 0 < value < whole:
        return share
    return replace(share, low=value / whole, high=value / whole, end=match.end("value"))


def without_corrected(shares: list[SaidShare], text: str) -> list[SaidShare]:
    """Of shares in order, leave out those that the speaker takes back at once."""
    kept: list[SaidShare] = []
    for share in shares:
        between = text[kept[-1].end : share.start].lower() if kept else ""
        if kept and len(between) < _LONGEST_CORRECTION and _CORRECTION_RE.search(between):
            kept.pop()
        elif kept and share.counted and kept[-1].counted and _GOES_ON_RE.fullmatch(between) and _is_range(kept[-1], share):
            last = kept.pop()
            share = replace(last, low=min(last.low, share.low), high=max(last.high, share.high), end=share.end)
        kept.append(share)
    return kept


def _is_range(one: SaidShare, other: SaidShare) -> bool:
    return one.low == one.high and other.low == other.high and 0 < abs(one.low - other.low) <= _WIDEST_RANGE


def _ranges(text: str) -> list[SaidShare]:
    """ "Fifteen to twenty percent", "85 90 percent", "thirty five maybe forty percent": the larger number comes last."""
    found = []
    for match in _RANGE_RE.finditer(text):
        low, high = value_of(match.group("low")), value_of(match.group("high"))
        plainly = re.search(r"(?:-|–|\bto|\bor|\bthrough)\s*$", text[match.end("low") : match.start("high")]) is not None
        if low is None or high is None or not low < high <= 100:
            continue
        if plainly or (low >= 5 and high - low <= 100 * _WIDEST_RANGE):
            found.append(SaidShare(low / 100, high / 100, match.start(), match.end()))
    return found


def _singles(text: str) -> list[SaidShare]:
    """One percentage; two numbers run together ("ninety ninety five percent") are a range."""
    found = []
    for match in _SINGLE_RE.finditer(text):
        one = value_of(match.group("low"))
        values = split_numbers(match.group("low")) or ([] if one is None else [one])
        if values and 0 <= values[0] <= values[-1] <= 100 and len(values) <= 2:
            found.append(SaidShare(values[0] / 100, values[-1] / 100, match.start(), match.end()))
    return found


def _odds(text: str) -> list[SaidShare]:
    found = []
    for match in _ODDS_RE.finditer(text):
        chances = value_of(match.group("for")) if match.group("for") else None
        value = chances / (chances + 1) if chances else _TURNS[match.group("turn").lower()] if match.group("turn") else 0.5
        found.append(SaidShare(value, value, match.start(), match.end()))
    return found


def _out_of(text: str) -> list[SaidShare]:
    found = []
    for match in _OUT_OF_RE.finditer(text):
        k, n = value_of(match.group("k")), value_of(match.group("n"))
        apart = split_numbers(match.group("k"))
        if k and n and k > n and len(apart) > 1:  # "like this one, four in five"
            k = apart[-1]
        k2 = value_of(match.group("k2")) if match.group("k2") else k
        if k is None or k2 is None or not n or max(k, k2) > n or n < 2:
            continue
        link, plainly = match.group("link").lower(), match.group("counted") is not None
        if not plainly and (link == "from" or (link in ("in", "of") and n > 10 and n not in (20, 100) and k > n / 2)):
            continue
        found.append(SaidShare(min(k, k2) / n, max(k, k2) / n, match.start(), match.end()))
    return found


def _fractions(text: str) -> list[SaidShare]:
    found = []
    for match in _FRACTION_RE.finditer(text):
        name = re.sub(r"^a half$|^one half$", "half", match.group("name").lower())
        value = _FRACTION.get(name, _FRACTION.get("a " + name))
        if value is not None:
            found.append(SaidShare(value, value, match.start(), match.end()))
    return found


def _chance_words(text: str) -> list[SaidShare]:
    found = []
    for match in _WORD_RE.finditer(text):
        low, high = list(_WORDS.values())[int(str(match.lastgroup)[1:])]
        found.append(SaidShare(low, high, match.start(), match.end(), counted=False))
    return found
