"""What parts cost and how long jobs took, bound to the component that the words are about."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kbindex.reading.amounts import Money, find_job_minutes, find_minutes, find_money
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.numbers import Number, find_numbers
from kbindex.records import Attempt, Cost, Kind, Operation, Sentence
from kbindex.settings import Settings

_CHARGE_RE = re.compile(
    r"\b(?:labou?r|trip|diagnos\w*|call[\s-]?(?:out|fee)|service (?:call|fee)|total|bill(?:ed)?|invoice\w*|chg|charged?|charging|per hour|"
    r"all (?:in|told|up)|altogether|visit|fee|flat|paid|owes?|collected|her|him|them|out the door|call)\b",
    re.IGNORECASE,
)
_PART_WORD_RE = re.compile(r"\b(?:parts?|it|one|piece|set|kit|pair|thing|that)\b", re.IGNORECASE)
_NOT_MONEY_RE = re.compile(
    r"^\s*-?(?:min|minutes?|hours?|hrs?|h\b|m\b|days?|weeks?|months?|years?|yrs?|x\b|times?|%|percent|per cent|volts?|v\b|ohms?|amps?|a\b|"
    r"degrees?|deg|psi|beeps?|blinks?|screws?|inch|in\b|feet|ft|cycles?|loads?|of\b|gallons?|liters?|litres?|watts?|mil\b|bolts?|wires?|am\b|pm\b|"
    r"out\b|in the|o'clock|/|st\b|nd\b|rd\b|th\b)",
    re.IGNORECASE,
)


def read_minutes(sentences: Sequence[Sentence], judged: Sequence[Judged], is_note: bool) -> int | None:
    """Read how long the job took: a time said as the job's, else the last one in a sentence about cost."""
    said = [find_job_minutes(sentence.text, is_note) for sentence in sentences]
    priced = [find_minutes(s.text) for s, verdict in zip(sentences, judged, strict=True) if verdict.kind is Kind.COST]
    of_job = [minutes for minutes in said if minutes is not None]
    beside = [minutes for minutes in priced if minutes is not None]
    return of_job[-1] if of_job else beside[-1] if beside else None


def read_costs(
    sentences: Sequence[Sentence],
    judged: Sequence[Judged],
    machine: str | None,
    attempts: Sequence[Attempt],
    lexicon: Lexicon,
    settings: Settings,
) -> tuple[Cost, ...]:
    """Read the amounts of money, each with the component that it is the price of; None for labour and totals."""
    found: list[Cost] = []
    recent: list[str] = []
    worked: str | None = None
    for sentence, verdict in zip(sentences, judged, strict=True):
        mentions = lexicon.find_parts(sentence.text, machine, recent)
        here = [a for a in attempts if a.at is sentence.at and a.text == sentence.text and a.operation is Operation.REPLACE]
        worked = here[-1].component if here else worked
        for money in _amounts(sentence.text, verdict, mentions, settings):
            component = _priced(sentence.text, money, mentions, worked or (recent[-1] if recent else None))
            found.append(Cost(component, money.amount, money.currency, sentence.at))
        recent += [mention.component for mention in mentions if not mention.minor]
    return tuple(found)


def _amounts(text: str, verdict: Judged, mentions: Sequence[Mention], settings: Settings) -> list[Money]:
    """Amounts with a currency, and in a sentence about cost also bare numbers that stand where a price would."""
    amounts = find_money(text)
    currency = amounts[0].currency if amounts else settings.currency
    for number in find_numbers(text):
        taken = any(number.start < money.end and money.start < number.end for money in amounts)
        if not taken and _stands_as_price(number, text, mentions, verdict):
            amounts.append(Money(_as_price(number, text), currency, number.start, number.end))
    return sorted(amounts, key=lambda money: money.start)


def _stands_as_price(number: Number, text: str, mentions: Sequence[Mention], verdict: Judged) -> bool:
    words = text[number.start : number.end]
    before, after = text[: number.start], text[number.end :]
    if _NOT_MONEY_RE.match(after) or re.search(r"[#/:]\s*$|\d\s*[-x]\s*$", before) or number.value < 2:
        return False
    decimals = re.fullmatch(r"\d+\.\d\d", words) is not None
    if verdict.kind is not Kind.COST:
        return decimals and any(0 <= number.start - m.end <= 2 for m in mentions) and not re.match(r"\s*\w*ohm|\s*v", after)
    beside = any(0 <= number.start - m.end <= 8 or 0 <= m.start - number.end <= 10 for m in mentions)
    charged = _CHARGE_RE.search(before[-25:] + " " + after[:18]) is not None
    return decimals or beside or charged or re.fullmatch(r"\W*", before + after) is not None


def _as_price(number: Number, text: str) -> float:
    """ "Three fifty" for a small part is 3.50, not 350."""
    words = text[number.start : number.end].lower()
    cents = re.fullmatch(r"(?:two|three|four|five|six|seven|eight|nine) (?:fifty|ninety|twenty|forty|sixty|eighty)", words)
    return number.value / 100 if cents else number.value


def _priced(text: str, money: Money, mentions: Sequence[Mention], spoken_of: str | None) -> str | None:
    """What an amount is the price of: the component nearest to it, else the one worked on; None for labour and totals."""
    around = text[max(0, money.start - 28) : money.end + 20]
    charged = _CHARGE_RE.search(around) is not None
    named = [mention for mention in mentions if not mention.minor] or list(mentions)
    if named:
        nearest = nearest_mention(named, money.start, money.end, text)
        apart = re.search(r"[,;.]|\b(?:and|so|but)\b", _between(nearest, money.start, money.end, text))
        return None if charged and apart else nearest.component
    if charged and not _PART_WORD_RE.search(around):
        return None
    return spoken_of


def _between(mention: Mention, start: int, end: int, text: str) -> str:
    return text[end : mention.start] if mention.start >= end else text[mention.end : start]


def nearest_mention(mentions: Sequence[Mention], start: int, end: int, text: str) -> Mention:
    """The component said nearest to a place; one in the same clause before one in another."""

    def distance(mention: Mention) -> tuple[int, int]:
        between = _between(mention, start, end, text)
        return (len(re.findall(r"[,;]|\b(?:and|but|then)\b", between)), len(between))

    return min(mentions, key=distance)
