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

_FIGURES = r"\d+(?:,\d{3})*(?:\.\d+)?"
_SIGN = r"(?:[$£€₹]|\brs\b\.?|\busd|\binr)"
_SIGN_RE = re.compile(rf"(?P<sign>{_SIGN})\s?(?P<low>{_FIGURES})(?:\s*(?:-|to)\s*{_SIGN}?(?P<high>{_FIGURES}))?", re.IGNORECASE)
_NAMED_RE = re.compile(
    rf"(?P<amount>{NUMBER})\s*-?(?:something\s+|odd\s+|or\s+so\s+|ish\s+)?"
    rf"(?P<name>dollars?|bucks?|usd|pounds?|quid|gbp|euros?|eur|rupees?|rs|inr)\b"
    rf"(?:\s+(?:and\s+)?(?P<cents>(?>{NUMBER}))(?:\s+cents)?(?!\w|\s*-?(?:min|hour|hr|h\b|m\b|(?:\w+ )?days?|(?:\w+ )?weeks?|months?|for\b|times|per\b|%)))?",
    re.IGNORECASE,
)
_SUFFIX_RE = re.compile(rf"(?P<amount>\d+,\d\d|{NUMBER})\s?(?P<sign>[$£€₹])(?!\s?\d)", re.IGNORECASE)
_DASHED_RE = re.compile(r"(?<![\w.,:/-])(?P<amount>\d{1,3}(?:,\d{3})+|\d+)[.,](?:--?|\u2013|\u2014)(?![\w-])")
"""Whole amounts as written in ledgers: "37.-", "58,-"."""
_CENTS_RE = re.compile(rf"(?P<amount>{NUMBER})\s+cents\b", re.IGNORECASE)
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


def find_money(text: str, currency: str = "USD") -> list[Money]:
    """Find the amounts of money of a text in order; a range gives its middle, and `currency` is that of one without a name."""
    found: list[Money] = []
    for money in [*_signed(text), *_named(text), *_cents(text), *_suffixed(text), *_dashed(text, currency)]:
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


def _cents(text: str) -> list[Money]:
    values = ((match, value_of(match.group("amount"))) for match in _CENTS_RE.finditer(text))
    return [Money(value / 100, "USD", *match.span()) for match, value in values if value is not None]


def _suffixed(text: str) -> list[Money]:
    found = []
    for match in _SUFFIX_RE.finditer(text):
        words = match.group("amount")
        amount = value_of(words.replace(",", ".") if re.fullmatch(r"\d+,\d\d", words) else words)
        if amount is not None:
            found.append(Money(amount, _CURRENCY[match.group("sign")], *match.span()))
    return found


def _dashed(text: str, currency: str) -> list[Money]:
    values = ((match, value_of(match.group("amount"))) for match in _DASHED_RE.finditer(text))
    return [Money(value, currency, *match.span()) for match, value in values if value is not None]


_TIME_RE = re.compile(
    rf"(?P<part>three quarters of an hour|half an hour|(?:a )?half[\s-]hour|(?:a )?quarter of an hour)"
    rf"|(?:(?P<hours>an?|{NUMBER})\s*)?-?(?P<unit>(?:(?<=\d)h|\bhours?|\bhrs?|(?<=\d)hrs?|\bh)(?=\b|\d))"
    rf"(?:\s*(?:and\s+)?(?P<more>a half|half|a quarter|three quarters)\b|(?P<apart>\s*(?:,\s*|and\s+)?)(?P<rest>(?>{NUMBER}))\s*(?P<min>minutes?\b|mins?\b|m\b)?)?"
    rf"|(?P<minutes>{NUMBER})\s*-?\s*(?:minutes?|mins?\b\.?|m\b)",
    re.IGNORECASE,
)
_PARTS = {"three": 45.0, "half": 30.0, "a half": 30.0, "quarter": 15.0, "a quarter": 15.0, "three quarters": 45.0}
_JOB_TIME_RE = re.compile(
    r"\b(?:took me|took us|all in|all told|all up|total|start to finish|door to (?:the )?door|in and out|time on|on site|labou?r|"
    r"whole job|whole thing|job time|start to end|time:|minutes? (?:job|work|all)|min job|done in|spent|cost me|of my (?:time|life)|(?:i|we) timed|"
    r"been here|(?:i|we) (?:was|were|am|'?m) (?:there|here|in|at)|altogether|out the door|(?:not )?counting|count the|leave out|work was|"
    r"(?:i|we) (?:put|wrote|write) down|job took|it took|took about|took \w+ (?:job|work)|on the job|of work|call it)\b|^\W*(?:time|took)\b|\bjob\W*$",
    re.IGNORECASE,
)
_WAIT_RE = re.compile(
    r"\b(?:wait|waited|hold|held|unplug\w*|power\w* (?:off|down)|leave it|left it|let it|ran|run|runs|running|after|every|within|baked?|stood|sat|"
    r"cycle|into|dry|soak\w*|reset|breaker|drive|away|warm|heat|cool|preheat|preheats|reached?|past|only|first|hot in|dries|takes|fills?)\b",
    re.IGNORECASE,
)
_RUN_AFTER_RE = re.compile(
    r"^\W{0,2}(?:run|load|cycle|later|on max|on high|test|at \d|to (?:reach|get|dry|heat|boil|warm)|for (?:jeans|towels|a load|the load)|dry|wash|without|before|until|between|of (?:run|heat)|ago|away|soak|warranty|each)\b",
    re.IGNORECASE,
)
_SHARED_RE = re.compile(r"\b(?:both|the pair|two (?:machines|jobs|units)|the two)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Span:
    """A length of time in minutes, the place of its words, and how much speaks for its being the job's (0: nothing)."""

    minutes: float
    start: int
    end: int
    claim: int


def find_job_minutes(text: str, is_note: bool) -> int | None:
    """Read how long the job took, in minutes; None where the time in the text is a wait or a run.

    In a note a bare time standing as a piece of its own ("35 min") is the job's; in speech a word must say so.
    """
    claimed = [span for span in find_times(text, is_note) if span.claim > 0]
    return round(claimed[0].minutes) if claimed else None


def find_times(text: str, is_note: bool) -> list[Span]:
    """Find lengths of time from a minute to ten hours, each with its claim to be the job's: 2 is said, 1 stands alone."""
    found = []
    for match in _TIME_RE.finditer(text):
        minutes, end = _minutes(match)
        if minutes is not None and 1 <= minutes <= 600 and not re.search(r"[$£€]\s*$", text[: match.start()]):
            found.append(Span(minutes, match.start(), end, _claim(text, match.start(), end, is_note)))
    return found


def _claim(text: str, start: int, end: int, is_note: bool) -> int:
    before, after = text[max(0, start - 45) : start], text[end : end + 36]
    piece = re.split(r"[,;.|/]", text[:start])[-1] + re.split(r"[,;.|/]", text[end:])[0]
    if _SHARED_RE.search(after) or _RUN_AFTER_RE.match(after):
        return -1
    said = _JOB_TIME_RE.search(before) or _JOB_TIME_RE.search(after)
    if said and not _WAIT_RE.search(before[-14:]):
        return 2
    if _WAIT_RE.search(before):
        return -1
    return int(is_note and not re.search(r"[a-z]{4,}", piece, re.IGNORECASE))


def _minutes(match: re.Match[str]) -> tuple[float | None, int]:
    """The minutes that a match tells and where it ends: "an hour fifteen" goes on, "an hour, 15 dollars" does not."""
    if match.group("minutes"):
        return value_of(match.group("minutes")), match.end()
    if match.group("part"):
        return next(value for word, value in _PARTS.items() if word in match.group("part").lower()), match.end()
    rest = value_of(match.group("rest") or "")
    plainly = match.group("min") is not None or "," not in (match.group("apart") or "")
    if rest is not None and not (1 <= rest < 60 and plainly and not _OTHER_UNIT_RE.match(match.string[match.end() :])):
        rest = None
    more = _PARTS.get((match.group("more") or "").lower(), rest)
    said = (match.group("hours") or "").lower()
    hours = 1.0 if said in ("a", "an") or (not said and more is not None) else value_of(said)
    end = match.end() if more is not None else match.end("unit")
    return (None, end) if hours is None else (hours * 60 + (more or 0.0), end)


_OTHER_UNIT_RE = re.compile(
    r"\s*(?:dollars?|bucks|degrees?|%|percent|volts?|ohms?|times|quid|pounds?|for the|beeps?|blinks?|f\b|c\b|v\b)",
    re.IGNORECASE,
)


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
