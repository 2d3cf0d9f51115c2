"""Stated shares: how often, in the speaker's opinion, a component is the cause or the cure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from kbindex.reading.kinds import Verdicts
from kbindex.reading.lexicon import Mention
from kbindex.reading.numbers import NUMBER, split_numbers, value_of
from kbindex.reading.share_binding import Spoken, bind
from kbindex.reading.shares import SaidShare, find_shares, without_corrected
from kbindex.records import Kind, Sentence, StatedShare

_ANY = 0.15
"""Chance of a sentence about a share from which its percentages and "n out of m" are taken."""
_LIKELY = 0.3
"""The same for shorthand ("3/4"), fractions of anything ("half of no-drains") and bare numbers."""

_NUMBERS = rf"(?<![\w.])(?P<low>{NUMBER})(?!\w)(?:\s*(?:,|to|or|-|maybe)\s*(?P<high>{NUMBER})(?!\w))?"
_FURTHER_RE = re.compile(rf"{_NUMBERS}(?=\s*(?:%|percent|per cent)?\s*(?:it'?s |is |for |to )?(?:the|a|an|on)?\s)", re.I)
_OTHER_RE = re.compile(
    rf"\b(?:another|(?:the|your|my|that) other)\s+{_NUMBERS}(?!\s*(?:guy|tech|day|time|week|one|screw|bolt))", re.I
)
_CORRECTED_RE = re.compile(
    rf"^\W*(?:no|nah|wait|sorry|actually|scratch that|i mean)\W+(?:\w+ ){{0,2}}?(?:call it|make (?:it|that)|more like|say)?\s*{_NUMBERS}",
    re.I,
)
_REVERSED_RE = re.compile(
    rf"\bout of (?:every )?(?P<n>{NUMBER})(?:\s+(?:of (?:these|them|those)|such \w+|calls|jobs|machines))?\W+(?:\w+\W+){{0,2}}?(?P<k>{NUMBER})\b",
    re.I,
)
_COUNTED_RE = re.compile(
    rf"(?P<k>{NUMBER})\s+(?:may be |maybe |might be |will be |would be |were |are |is |was )?(?:the|a|an)\s", re.I
)
_OF_ANY_RE = re.compile(
    r"\b(?:a |one |two |three )?(?P<name>half|thirds?|quarters?)(?=\s+(?:of|the|a|are|is|it'?s|or so)\b|\s*[.,;]|\s*$)", re.I
)
_BARE_NOTE_RE = re.compile(r"(?<![\d/.$£-])(?P<k>\d{1,2})\s*/\s*(?P<n>\d{1,2})(?![\d/])")
_OPINION_RE = re.compile(
    r"\b(?:i (?:figure|find|reckon|guess|see)|i'?d (?:say|call it|put|go|bet)|i (?:will|would) (?:say|put)|in my (?:book|experience|practice)|call it)\b",
    re.I,
)
_USUAL_TOTALS = (2, 3, 4, 5, 8, 10, 20, 100)
_PARTS_OF_ONE = {"half": 1 / 2, "third": 1 / 3, "quarter": 1 / 4}


def read_shares(sentences: Sequence[Sentence], verdicts: Verdicts) -> tuple[StatedShare, ...]:
    """Read the shares that are stated of a component. Words without a number count only in a sentence judged a share."""
    spoken = [Spoken(one.text, tuple(named)) for one, named in zip(sentences, verdicts.mentions, strict=True)]
    found: list[StatedShare] = []
    last = -9
    for place, (sentence, verdict) in enumerate(zip(sentences, verdicts.judged, strict=True)):
        likely = verdict.chances["kind"][Kind.SHARE.value] + 0.35 * bool(_OPINION_RE.search(sentence.text))
        before = [share for share in found if share.at is sentences[last].at] if 0 <= place - last <= 2 else []
        if before and place - last == 1 and (corrected := _correction(sentence.text)):
            found[-1] = replace(found[-1], low=corrected[0], high=corrected[1])
        elif likely > _ANY or verdict.kind in (Kind.SHARE, Kind.CAUSE):
            shares = _shares_of(sentence.text, spoken[place].mentions, likely, before)
            links = {share: verdicts.amounts.of_share(place, share.start, share.end) for share in shares}
            for share, component in bind(links, spoken, place):
                found.append(StatedShare(component, round(share.low, 4), round(share.high, 4), sentence.text, sentence.at))
                last = place
    return tuple(found)


def find_said(text: str) -> list[SaidShare]:
    """Find all that may be a share in a text, in order, whatever the text is about."""
    said = find_shares(text)
    counted = [share for share in said if share.counted]
    further = _apart(_less_plain(text), counted)
    return without_corrected(sorted(said + further, key=lambda one: one.start), text)


def _shares_of(text: str, mentions: Sequence[Mention], likely: float, before: Sequence[StatedShare]) -> list[SaidShare]:
    """Shares with a number go before chance words; "sixty per cent belt, twenty-five the capacitor" holds two."""
    said = find_shares(text)
    counted = [share for share in said if share.counted and not _is_plain_count(text, share, likely)]
    if likely > _LIKELY:
        counted += _apart(_less_plain(text), counted)
    if likely > _ANY and before:
        counted += _apart(_others(text, before) + _counted_on(text, before), counted)
    if not counted:
        return said if likely > 0.5 else []
    counted += _further(text, mentions, counted)
    return without_corrected(sorted(counted, key=lambda share: share.start), text)


def _less_plain(text: str) -> list[SaidShare]:
    """What is a share in talk of odds alone."""
    return _reversed(text) + _bare_fractions(text) + _parts_of_any(text)


def _is_plain_count(text: str, share: SaidShare, likely: float) -> bool:
    """ "3 of 9 holes" counts things; a share of calls says "out of", "times" or "in", or has a usual total."""
    words = text[share.start : share.end].lower()
    if not re.search(r"\b(?:of|every)\b", words) or re.search(r"\b(?:out|times?|these|them|those|calls|jobs|ones)\b", words):
        return False
    total = re.search(rf"\bof (?:every )?(?P<n>{NUMBER})$", words)
    return likely < _LIKELY or (total is not None and value_of(total.group("n")) not in _USUAL_TOTALS)


def _apart(shares: Sequence[SaidShare], taken: Sequence[SaidShare]) -> list[SaidShare]:
    return [share for share in shares if all(share.end <= other.start or share.start >= other.end for other in taken)]


def _read(match: re.Match[str]) -> tuple[float, float] | None:
    """The percentages of a match of `_NUMBERS`: "thirty", "ten, fifteen", "ninety ninety five"."""
    values = split_numbers(match.group("low")) or [value_of(match.group("low")) or 0.0]
    low, high = values[0], (value_of(match.group("high")) or 0.0) if match.group("high") else values[-1]
    return (low / 100, high / 100) if 3 <= low <= high <= 97 and high - low <= 25 and len(values) <= 2 else None


def _correction(text: str) -> tuple[float, float] | None:
    """ "No, call it seventy" after a sentence with a share puts it right."""
    match = _CORRECTED_RE.match(text)
    return (
        _read(match)
        if match and re.search(r"call it|make|like|say|percent|per cent|%", text[: match.end() + 9], re.I)
        else None
    )


def _further(text: str, mentions: Sequence[Mention], counted: Sequence[SaidShare]) -> list[SaidShare]:
    """Percentages after the first one leave the word out: they stand right beside a component."""
    found: list[SaidShare] = []
    for match in _FURTHER_RE.finditer(text, max(share.end for share in counted)):
        named = any(0 <= m.start - match.end() <= 12 or 0 <= match.start() - m.end <= 12 for m in mentions)
        if (
            named
            and (read := _read(match))
            and not re.match(r"\s*(?:minutes?|dollars?|bucks|ohms?|volts?|fifty|\d)", text[match.end() :], re.I)
        ):
            found.append(SaidShare(*read, match.start(), match.end()))
    return found


def _others(text: str, before: Sequence[StatedShare]) -> list[SaidShare]:
    """ "The other thirty", "another twenty": of a range said before, the other end of it."""
    found = []
    for match in _OTHER_RE.finditer(text):
        if read := _read(match):
            rests = [(round(1 - share.high, 4), round(1 - share.low, 4)) for share in before if share.low < share.high]
            fitting = [rest for rest in rests if read[0] == read[1] and any(abs(end - read[0]) < 0.001 for end in rest)]
            found.append(SaidShare(*(fitting or [read])[0], match.start(), match.end()))
    return found


def _counted_on(text: str, before: Sequence[StatedShare]) -> list[SaidShare]:
    """After "out of ten, seven are the latch": "two may be the wire"."""
    total = next((match for share in before if (match := _REVERSED_RE.search(share.text))), None)
    n = value_of(total.group("n")) if total else None
    match = _COUNTED_RE.match(text.strip()) if n else None
    k = value_of(match.group("k")) if match else None
    return [SaidShare(k / n, k / n, match.start(), match.end("k"))] if match and k and n and k < n else []


def _reversed(text: str) -> list[SaidShare]:
    """ "Out of ten, seven were the fan and two the sensor"."""
    match = _REVERSED_RE.search(text)
    n = value_of(match.group("n")) if match else None
    if not match or not n:
        return []
    found = []
    for start, end, words in [(*match.span("k"), match.group("k"))] + [
        (*m.span("k"), m.group("k")) for m in _COUNTED_RE.finditer(text, match.end())
    ]:
        k = value_of(words)
        if k and k < n:
            found.append(SaidShare(k / n, k / n, start, end))
    return found


def _parts_of_any(text: str) -> list[SaidShare]:
    """ "A third of no-drains it's the pump", "heater a third", "the other half": fractions in a sentence about shares."""
    found = []
    for match in _OF_ANY_RE.finditer(text):
        times = {"two": 2, "three": 3}.get(match.group().lower().split()[0], 1)
        value = times * _PARTS_OF_ONE[match.group("name").lower().rstrip("s")]
        found.append(SaidShare(value, value, match.start(), match.end()))
    return found


def _bare_fractions(text: str) -> list[SaidShare]:
    """Shorthand of a note: "hum = mtr, 3/4"."""
    found = []
    for match in _BARE_NOTE_RE.finditer(text):
        k, n = int(match.group("k")), int(match.group("n"))
        if 0 < k < n:
            found.append(SaidShare(k / n, k / n, match.start(), match.end()))
    return found
