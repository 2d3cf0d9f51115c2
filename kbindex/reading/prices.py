"""What parts cost and how long jobs took, bound to the component that the words are about."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.reading.amounts import Money, find_money, find_times
from kbindex.reading.kinds import Judged, Verdicts
from kbindex.reading.lexicon import Mention
from kbindex.reading.numbers import Number, find_numbers, split_numbers
from kbindex.reading.price_binding import CHARGE_RE, TOTAL_RE, Ledger, bind_prices, find_clause
from kbindex.records import Attempt, By, Cost, Kind, Operation, Sentence
from kbindex.settings import Settings

_COST_LIKELY = 0.25
"""Chance of a sentence about cost from which its bare numbers may be prices."""

_LEAST_LIKELY = 0.2
"""Chance of being a price under which a number is none, wherever it stands."""
_WORKED = 0.4
"""Chance of an attempt from which a number right behind a part's name is its price, in a note."""
_LEAST_PRICE, _MOST_PRICE = 3, 600

_VISITS_RE = re.compile(r"\bfirst (?:visit|trip|time)\b.*\bsecond\b", re.IGNORECASE)
_CHARGED_RE = re.compile(r"\b(?:chg|charged?|labou?r|paid|fee)\W{0,2}\s*$", re.IGNORECASE)
_HYPOTHETICAL_RE = re.compile(
    r"\b(?:could|would|nobody|mistake|worth (?!of)|asking|list(?:ing|ed|s)?|sell(?:ing)?|sold|on the floor|retail|refund(?:ed)?|instead of)\b",
    re.IGNORECASE,
)
_NOT_MONEY_RE = re.compile(
    r"^\s*-?(?:min|minutes?|hours?|hrs?|h\b|m\b|days?|weeks?|months?|years?|yrs?|x\b|times?|%|percent|per cent|volts?|v\b|ohms?|amps?|a\b|"
    r"degrees?|deg|psi|beeps?|blinks?|screws?|inch|in\b(?! (?:parts?|all)\b)|feet|ft|cycles?|loads?|of\b|gallons?|liters?|litres?|watts?|mil\b|bolts?|wires?|am\b|pm\b|"
    r"out\b|o'clock|/\s?\d|st\b|nd\b|rd\b|th\b|seconds?|secs?|stops?|trips?\b|people|calls?\b(?! out))",
    re.IGNORECASE,
)
_LABOUR_RE = re.compile(r"\blabou?r\b", re.IGNORECASE)
_PRICE_WORDS = frozenset(
    "for the a an of was is s are were like about around call it its it's that that's this part parts in kit set pair pr each piece one new all "
    "told total labor labour labr charge charged charges paid cost costs costing me him her us them she he i my you trip visit fee flat cash come "
    "comes came to just only out trade apiece nc work time run ran be been at counter say maybe roughly or so used old both two three four each on "
    "you're your even took take from asked ticket ex tax incl w with sw price priced at's minus up lot job by and now".split()
)


def read_minutes(sentences: Sequence[Sentence], judged: Sequence[Judged], is_note: bool) -> int | None:
    """Read how long the job took: the time with the best claim, of equals the last; several visits are added up."""
    best: tuple[float, int] = (0.0, 0)
    for sentence, verdict in zip(sentences, judged, strict=True):
        spans = find_times(sentence.text, is_note)
        likely = verdict.chances["kind"][Kind.COST.value]
        for span in spans:
            claim = span.claim + 1.5 * (likely > _COST_LIKELY) if span.claim >= 0 else 0.0
            if claim >= max(best[0], 1.0):
                best = (claim, round(span.minutes))
        if likely > _COST_LIKELY and len(spans) == 2 and _VISITS_RE.search(sentence.text):
            best = (4.0, round(sum(span.minutes for span in spans)))
    return best[1] or None


@dataclass(frozen=True)
class Amount:
    """A number that may be a price, and whether its currency is said."""

    money: Money
    has_currency: bool


def find_amounts(text: str, currency: str = "USD") -> list[Amount]:
    """Find all numbers of a text that may be prices, in order; those without a currency are taken for the given one."""
    named = find_money(text, currency)
    found = [Amount(money, True) for money in named]
    for number in find_numbers(text):
        money = Money(_as_price(number, text), currency, number.start, number.end)
        if money.amount >= 1 and not any(number.start < one.end and one.start < number.end for one in named):
            found.append(Amount(money, False))
    return sorted(found, key=lambda one: one.money.start)


def read_costs(
    sentences: Sequence[Sentence], verdicts: Verdicts, attempts: Sequence[Attempt], settings: Settings
) -> tuple[Cost, ...]:
    """Read the amounts of money, each with the component that it is the price of; None for labour and totals."""
    found: list[Cost] = []
    ledger = Ledger()
    for place, (sentence, verdict, named) in enumerate(zip(sentences, verdicts.judged, verdicts.mentions, strict=True)):
        if verdict.attempt > 0.5 and verdict.operation is Operation.REPLACE and named:
            ledger.fitted.append(named[-1].component)
        ledger.fitted += [a.component for a in attempts if a.text == sentence.text and a.at is sentence.at and _is_fitted(a)]
        amounts = [
            one.money
            for one in _amounts(sentence, verdict, named, settings)
            if verdicts.amounts.is_price(place, one.money, one.has_currency) >= _LEAST_LIKELY
        ]
        amounts = _without_sums(amounts, sentence.text)
        links = {money: verdicts.amounts.of_price(place, money.start, money.end) for money in amounts}
        for money, component in bind_prices(sentence.text, amounts, named, ledger, links):
            found.append(Cost(component, money.amount, money.currency, sentence.at))
    return tuple(found)


def _is_fitted(attempt: Attempt) -> bool:
    return attempt.operation is Operation.REPLACE and attempt.by is By.US


def _amounts(sentence: Sentence, verdict: Judged, mentions: Sequence[Mention], settings: Settings) -> list[Amount]:
    """Amounts with a currency, and in a sentence about cost also bare numbers that stand where a price would."""
    text = sentence.text
    likely = verdict.chances["kind"][Kind.COST.value]
    amounts = [Amount(money, True) for money in find_money(text, settings.currency) if _is_paid(money, text, likely)]
    currency = amounts[0].money.currency if amounts else settings.currency
    for number in find_numbers(text):
        taken = any(number.start < one.money.end and one.money.start < number.end for one in amounts)
        money = Money(_as_price(number, text), currency, number.start, number.end)
        stands = _stands_as_price(number, text, mentions, verdict) or (
            sentence.at.start_s is None and verdict.attempt > _WORKED and _stands_by_part(number, text, mentions)
        )
        if not taken and stands and _is_paid(money, text, likely):
            amounts.append(Amount(money, False))
    return sorted(amounts, key=lambda one: one.money.start)


def _is_paid(money: Money, text: str, likely: float) -> bool:
    """Not what something would cost, not a price of the machine, and not a weight in pounds."""
    start, end = find_clause(text, money.start, money.end)
    around = text[max(start, money.start - 30) : min(end, money.end + 24)]
    if money.amount == 0 or _HYPOTHETICAL_RE.search(around):
        return False
    return likely > 0.6 or "pound" not in text[money.start : money.end].lower()


def _stands_as_price(number: Number, text: str, mentions: Sequence[Mention], verdict: Judged) -> bool:
    words = text[number.start : number.end]
    before, after = text[: number.start], text[number.end :]
    if (
        _NOT_MONEY_RE.match(after)
        or re.search(r"[#:]\s*$|\d\s*[-x/]\s*$|hours?(?: and)?\s*$", before, re.I)
        or number.value < 2
    ):
        return False
    decimals = re.fullmatch(r"\d+\.\d\d", words) is not None
    likely = verdict.chances["kind"][Kind.COST.value]
    if likely > 0.05 and _CHARGED_RE.search(before):
        return True
    if likely < _COST_LIKELY:
        return decimals and any(0 <= number.start - m.end <= 2 for m in mentions) and not re.match(r"\s*\w*ohm|\s*v", after)
    if number.value < 5 and not decimals:
        return (
            any(0 <= number.start - m.end <= 4 for m in mentions)
            or re.match(r"\s*for\b", after) is not None
            and not before.endswith("of ")
        )
    beside = any(0 <= number.start - m.end <= 8 or 0 <= m.start - number.end <= 10 for m in mentions)
    return decimals or beside or _only_price_words(number, text, mentions)


def _stands_by_part(number: Number, text: str, mentions: Sequence[Mention]) -> bool:
    """Shorthand of work done: "cap 14.80", "chain (33) in"."""
    behind = any(re.fullmatch(r"s? ?\(?\$?", text[m.end : number.start]) for m in mentions)
    after = text[number.end :]
    plain = re.match(r"\s*(?:[),.;+&/]|->|=>|-|in\b|and\b|both\b|$)", after) is not None
    return behind and plain and not _NOT_MONEY_RE.match(after) and _LEAST_PRICE <= number.value <= _MOST_PRICE


def _only_price_words(number: Number, text: str, mentions: Sequence[Mention]) -> bool:
    """Whether the clause around a number says nothing else than what a price is for."""
    start, end = find_clause(text, number.start, number.end)
    rest = text[start : number.start] + " " + text[number.end : end]
    for mention in mentions:
        rest = rest.replace(text[mention.start : mention.end], " ")
    words = [word.lower() for word in re.findall(r"[a-zA-Z']+", rest)]
    strange = [word for word in words if word not in _PRICE_WORDS]
    return len(strange) <= (1 if len(words) > 3 else 0) or CHARGE_RE.search(rest) is not None


def _as_price(number: Number, text: str) -> float:
    """ "Three fifty" for a part is 3.50, "twenty-eight fifty" 28.50, and "one thirty five" 135."""
    words = text[number.start : number.end]
    if re.fullmatch(r"[1-9]\d[1-9]\d|[1-9]\d\d[1-9]", words):  # as a recogniser writes "thirty-nine ninety-five"
        return number.value / 100
    said = split_numbers(text[number.start : number.end])
    if len(said) == 2 and said[0] < 10 and CHARGE_RE.search(text[max(0, number.start - 24) : number.end + 16]):
        return number.value
    if len(said) == 2 and 2 <= said[0] < 100 and 10 <= said[1] < 100:
        return said[0] + said[1] / 100
    return number.value


def _without_sums(amounts: Sequence[Money], text: str) -> list[Money]:
    """Leave out what is counted twice: the sum of the others said with them, and labour within a total."""
    total = sum(money.amount for money in amounts)
    kept = [money for money in amounts if len(amounts) < 3 or abs(total - 2 * money.amount) > 0.01]
    if len(kept) > 1 and TOTAL_RE.search(text):
        kept = [money for money in kept if not _LABOUR_RE.search(text[slice(*find_clause(text, money.start, money.end))])]
    return kept
