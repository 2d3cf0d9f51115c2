"""Money, minutes and meter readings in speech and shorthand."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kbindex.reading.numbers import NUMBER, value_of
from kbindex.records import Reading

_CURRENCY = {
    "$": "USD", "dollar": "USD", "dollars": "USD", "buck": "USD", "bucks": "USD", "usd": "USD",
    "£": "GBP", "pound": "GBP", "pounds": "GBP", "quid": "GBP", "gbp": "GBP",
    "€": "EUR", "euro": "EUR", "euros": "EUR", "eur": "EUR",
    "rs": "INR", "rs.": "INR", "rupee": "INR", "rupees": "INR", "inr": "INR", "₹": "INR",
}  # fmt: skip

_FIGURES = r"\d[\d,]*(?:\.\d+)?"
_SIGN = r"(?:[$£€₹]|\brs\b\.?|\busd|\binr)"
_SIGN_RE = re.compile(rf"(?P<sign>{_SIGN})\s?(?P<low>{_FIGURES})(?:\s*(?:-|to)\s*{_SIGN}?(?P<high>{_FIGURES}))?", re.IGNORECASE)
_NAMED_RE = re.compile(
    rf"(?P<amount>{NUMBER})\s*-?(?:something\s+|odd\s+|or\s+so\s+|ish\s+)?"
    rf"(?P<name>dollars?|bucks?|usd|pounds?|quid|gbp|euros?|eur|rupees?|rs|inr)\b"
    rf"(?:\s+(?:and\s+)?(?P<cents>(?>{NUMBER}))(?:\s+cents)?(?!\w|\s*-?(?:min|hour|hr|h\b|m\b|days?|for\b|times|per\b|%)))?",
    re.IGNORECASE,
)
_SUFFIX_RE = re.compile(rf"(?P<amount>\d+,\d\d|{NUMBER})\s?(?P<sign>[$£€₹])(?!\s?\d)", re.IGNORECASE)
_POINTING_ONE_RE = re.compile(
    r"\b(?:single|every|this|that|which|each|other|new|old|last|another|no|the|good|big|small)\s+$", re.IGNORECASE
)


@dataclass(frozen=True)
class Money:
    """An amount with its currency and the place of its words."""

    amount: float
    currency: str
    start: int
    end: int


def find_money(text: str) -> list[Money]:
    """Find the amounts of money of a text in order; a range gives its middle."""
    found: list[Money] = []
    for money in [*_signed(text), *_named(text), *_suffixed(text)]:
        if all(money.end <= other.start or money.start >= other.end for other in found):
            found.append(money)
    return sorted(found, key=lambda money: money.start)


def _signed(text: str) -> list[Money]:
    found = []
    for match in _SIGN_RE.finditer(text):
        low, high = value_of(match.group("low")), value_of(match.group("high") or match.group("low"))
        if low is not None and high is not None:
            found.append(Money((low + high) / 2, _CURRENCY[match.group("sign").lower().rstrip(".")], *match.span()))
    return found


def _named(text: str) -> list[Money]:
    found = []
    for match in _NAMED_RE.finditer(text):
        if re.match(r"\s*(?:of pressure|per square|of water)", text[match.end() :]):
            continue
        words = match.group("amount")
        if _POINTING_ONE_RE.search(text[: match.start()]):  # "every single one, thirty dollars"
            words = re.sub(r"^one\s+", "", words, flags=re.IGNORECASE)
        amount, cents = value_of(words), value_of(match.group("cents") or "")
        if amount is not None:
            has_cents = cents is not None and 5 <= cents < 100
            found.append(
                Money(
                    amount + (cents or 0.0) / 100 * has_cents,
                    _CURRENCY[match.group("name").lower()],
                    match.start(),
                    match.end() if has_cents else match.end("name"),
                )
            )
    return found


def _suffixed(text: str) -> list[Money]:
    found = []
    for match in _SUFFIX_RE.finditer(text):
        words = match.group("amount")
        amount = value_of(words.replace(",", ".") if re.fullmatch(r"\d+,\d\d", words) else words)
        if amount is not None:
            found.append(Money(amount, _CURRENCY[match.group("sign")], *match.span()))
    return found


_TIME_RE = re.compile(
    rf"(?P<hours>half an hour|three quarters of an hour|(?:an?|one) hour and a (?:half|quarter)|an hour|"
    rf"(?:{NUMBER}|\d+(?:\.\d+)?)\s*(?:hours?|hrs?|h)\b(?:\s*(?:and\s+)?(?P<rest>{NUMBER})\s*(?:minutes?|mins?|m)\b)?)"
    rf"|(?P<minutes>{NUMBER})\s*-?\s*(?:minutes?|mins?\b\.?|m\b)",
    re.IGNORECASE,
)
_FIXED_HOURS = {
    "half an hour": 30.0, "three quarters of an hour": 45.0, "an hour": 60.0, "an hour and a half": 90.0,
    "one hour and a half": 90.0, "an hour and a quarter": 75.0, "one hour and a quarter": 75.0,
}  # fmt: skip
_JOB_TIME_RE = re.compile(
    r"\b(?:took|takes|all in|all told|total|start to finish|door to door|in and out|time on|on site|on the clock|labou?r|"
    r"whole job|whole thing|job time|start to end|time:|minutes? (?:job|work|all)|min job|done in|call it|spent|"
    r"been here|altogether|out the door)\b",
    re.IGNORECASE,
)
_WAIT_RE = re.compile(
    r"\b(?:wait|waited|hold|held|unplug\w*|power\w* (?:off|down)|leave it|left it|ran|run|running|after|every|within|"
    r"cycle|into|dry|for about|soak|reset|breaker|drive|away|warm|heat|cool|preheat|preheats|reached?)\b",
    re.IGNORECASE,
)


def find_job_minutes(text: str, is_note: bool) -> int | None:
    """Read how long the job took, in minutes; None where the time in the text is a wait or a run.

    In a note a bare time standing at the end of a piece ("35 min") is the job's; in speech a word must say so.
    """
    for match in _TIME_RE.finditer(text):
        before = text[max(0, match.start() - 45) : match.start()]
        after = text[match.end() : match.end() + 30]
        piece = re.split(r"[,;.|/]", text[: match.start()])[-1] + re.split(r"[,;.|/]", text[match.end() :])[0]
        stands_alone = is_note and not re.search(r"[a-z]{4,}", piece, re.IGNORECASE)
        said = _JOB_TIME_RE.search(before) or _JOB_TIME_RE.search(after)
        if (said and not _WAIT_RE.search(before[-14:])) or (stands_alone and not _WAIT_RE.search(before)):
            minutes = _minutes(match)
            if minutes is not None and 1 <= minutes <= 600:
                return round(minutes)
    return None


def find_minutes(text: str) -> int | None:
    """Read the last length of time of a text in minutes, whatever it is the time of."""
    found = [minutes for match in _TIME_RE.finditer(text) if (minutes := _minutes(match)) is not None and 1 <= minutes <= 600]
    return round(found[-1]) if found else None


def _minutes(match: re.Match[str]) -> float | None:
    if match.group("minutes"):
        return value_of(match.group("minutes"))
    words = match.group("hours").lower()
    if words in _FIXED_HOURS:
        return _FIXED_HOURS[words]
    hours = re.match(rf"{NUMBER}", words, re.IGNORECASE)
    value = value_of(hours.group()) if hours else None
    if value is None:
        return None
    rest = value_of(match.group("rest")) if match.group("rest") else 0.0
    return value * 60 + (rest or 0.0)


_UNITS: tuple[tuple[str, str], ...] = (
    (r"k(?:ilo)?\s?-?ohms?|k\s?Ω|kilohms?", "kohm"),
    (r"m(?:eg)?ohms?|megohms?|megs?", "Mohm"),
    (r"ohms?|Ω", "ohm"),
    (r"millivolts?|mv", "mV"),
    (r"volts?|vac|vdc|v(?:\s?(?:ac|dc))?", "volt"),
    (r"milliamps?|ma", "mA"),
    (r"microamps?|ua|µa", "uA"),
    (r"amps?|a", "amp"),
    (r"watts?|w", "watt"),
    (r"microfarads?|mfd|uf|µf", "uF"),
    (r"degrees? (?:c|celsius|centigrade)|°\s?c|deg c", "degC"),
    (r"degrees?(?: (?:f|fahrenheit))?|°\s?f?|deg(?: f)?", "degF"),
    (r"psi|pounds of pressure", "psi"),
    (r"bar", "bar"),
    (r"inches (?:of )?(?:water(?: column)?|wc)|in\.? ?w\.?c\.?|inch(?:es)? w\.?c\.?|\"\s?wc", "inH2O"),
    (r"rpm", "rpm"),
    (r"gpm|gallons (?:a|per) minute", "gpm"),
)
_READING_RE = [
    (re.compile(rf"(?<![\w.])(?P<value>{NUMBER})\s*-?\s*(?:{pattern})(?![\w])", re.IGNORECASE), unit)
    for pattern, unit in _UNITS
]


def find_reading(text: str) -> Reading | None:
    """Read the first meter or gauge value of a text; None where it holds none."""
    best: tuple[int, Reading] | None = None
    for pattern, unit in _READING_RE:
        match = pattern.search(text)
        if not match or (
            unit in ("amp", "watt") and re.search(r"\b(?:twenty|fifteen|thirty)?\s?-?amp (?:breaker|fuse)", text, re.I)
        ):
            continue
        value = value_of(match.group("value"))
        if value is not None and (best is None or match.start() < best[0]):
            best = (match.start(), Reading(value, unit))
    return best[1] if best else None
