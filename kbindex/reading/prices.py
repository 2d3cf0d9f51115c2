"""What parts cost and how long jobs took, bound to the component that the words are about."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from kbindex.reading.amounts import Money, find_job_minutes, find_minutes, find_money
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.numbers import Number, find_numbers, split_numbers
from kbindex.records import Attempt, By, Cost, Kind, Operation, Sentence
from kbindex.settings import Settings

_COST_LIKELY = 0.35
"""Chance of a sentence about cost from which its bare numbers may be prices."""

_CHARGE_RE = re.compile(
    r"\b(?:labou?r|labr|lab|trip|diagnos\w*|diag|call[\s-]?(?:out|fee)|service|total|bill(?:ed)?|invoice\w*|chg|charg(?:ed?|ing)|per hour|"
    r"all (?:in|told|up)|in all|altogether|visit|ticket|fee|flat|paid|pays?|gave|owes?|collected|out the door|cash|goodwill|auction|asking|"
    r"for (?:me|my \w+|us|the (?:trip|call|visit|labou?r|work|cleaning|hour|lot|job))|(?:told|asked|took|take) (?:her|him|them|from)|call|min(?:imum)? charge)\b|^\W*\+",
    re.IGNORECASE,
)
_TOTAL_RE = re.compile(r"\b(?:total|all (?:in|told|up)|in all|altogether|out the door)\b", re.IGNORECASE)
_PART_WORD_RE = re.compile(
    r"\b(?:parts?|it|one|piece|set|kit|pair|pr|thing|that|each|trade|counter|bag|apiece)\b", re.IGNORECASE
)
_NOT_MONEY_RE = re.compile(
    r"^\s*-?(?:min|minutes?|hours?|hrs?|h\b|m\b|days?|weeks?|months?|years?|yrs?|x\b|times?|%|percent|per cent|volts?|v\b|ohms?|amps?|a\b|"
    r"degrees?|deg|psi|beeps?|blinks?|screws?|inch|in\b(?! (?:parts?|all)\b)|feet|ft|cycles?|loads?|of\b|gallons?|liters?|litres?|watts?|mil\b|bolts?|wires?|am\b|pm\b|"
    r"out\b|o'clock|/\s?\d|st\b|nd\b|rd\b|th\b|seconds?|secs?|stops?|trips?\b|people|calls?\b(?! out))",
    re.IGNORECASE,
)
_CLAUSE_RE = re.compile(r"[,;/|]|\.(?!\d)|\s-\s|\b(?:and|but|so|plus|because|which|then)\b", re.IGNORECASE)
_PRICE_WORDS = frozenset(
    "for the a an of was is s are were like about around call it its it's that that's this part parts in kit set pair pr each piece one new all "
    "told total labor labour labr charge charged charges paid cost costs costing me him her us them she he i my you trip visit fee flat cash come "
    "comes came to just only out trade apiece nc work time run ran be been at counter say maybe roughly or so used old both two three four each on "
    "you're your even took take from asked ticket ex tax incl w with sw price priced at's minus up lot job by and now".split()
)
_HUNDREDS = 10


@dataclass
class _Ledger:
    """What has been fitted so far, in order, and what has a price already."""

    fitted: list[str] = field(default_factory=list)
    priced: set[str] = field(default_factory=set)

    def unpriced(self) -> list[str]:
        return [component for component in dict.fromkeys(self.fitted) if component not in self.priced]


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
    ledger = _Ledger()
    for sentence, verdict in zip(sentences, judged, strict=True):
        mentions = lexicon.find_parts(sentence.text, machine, recent)
        if verdict.attempt > 0.5 and verdict.operation is Operation.REPLACE and mentions:
            ledger.fitted.append(mentions[-1].component)
        ledger.fitted += [a.component for a in attempts if a.text == sentence.text and a.at is sentence.at and _is_fitted(a)]
        amounts = _amounts(sentence.text, verdict, mentions, settings)
        for money, component in _bind(sentence.text, amounts, mentions, ledger):
            found.append(Cost(component, money.amount, money.currency, sentence.at))
        recent += [mention.component for mention in mentions if not mention.minor]
    return tuple(found)


def _is_fitted(attempt: Attempt) -> bool:
    return attempt.operation is Operation.REPLACE and attempt.by is By.US


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
    if _NOT_MONEY_RE.match(after) or re.search(r"[#:]\s*$|\d\s*[-x/]\s*$", before) or number.value < 2:
        return False
    decimals = re.fullmatch(r"\d+\.\d\d", words) is not None
    if verdict.chances["kind"][Kind.COST.value] < _COST_LIKELY:
        return decimals and any(0 <= number.start - m.end <= 2 for m in mentions) and not re.match(r"\s*\w*ohm|\s*v", after)
    beside = any(0 <= number.start - m.end <= 8 or 0 <= m.start - number.end <= 10 for m in mentions)
    return decimals or beside or _only_price_words(number, text, mentions)


def _only_price_words(number: Number, text: str, mentions: Sequence[Mention]) -> bool:
    """Whether the clause around a number says nothing else than what a price is for."""
    start, end = _clause(text, number.start, number.end)
    rest = text[start : number.start] + " " + text[number.end : end]
    for mention in mentions:
        rest = rest.replace(text[mention.start : mention.end], " ")
    words = [word.lower() for word in re.findall(r"[a-zA-Z']+", rest)]
    strange = [word for word in words if word not in _PRICE_WORDS]
    return len(strange) <= (1 if len(words) > 3 else 0) or _CHARGE_RE.search(rest) is not None


def _clause(text: str, start: int, end: int) -> tuple[int, int]:
    """Where the clause begins and ends in which a place stands."""
    begin = max((m.end() for m in _CLAUSE_RE.finditer(text, 0, start) if m.end() <= start), default=0)
    return begin, next((m.start() for m in _CLAUSE_RE.finditer(text, end)), len(text))


def _as_price(number: Number, text: str) -> float:
    """ "Three fifty" for a part is 3.50, "twenty-eight fifty" 28.50, and "one thirty five" 135."""
    said = split_numbers(text[number.start : number.end])
    if len(said) == 2 and 2 <= said[0] < 100 and 10 <= said[1] < 100:
        return said[0] + said[1] / 100
    return number.value


def _bind(text: str, amounts: Sequence[Money], mentions: Sequence[Mention], ledger: _Ledger) -> list[tuple[Money, str | None]]:
    """What each amount of a sentence is the price of; part of a total that is said with it is left out."""
    has_total = len(amounts) > 1 and _TOTAL_RE.search(text) is not None
    bound: list[tuple[Money, str | None]] = []
    waiting = ledger.unpriced()
    bare = [money for money in amounts if _stands_bare(text, money, mentions)]
    for money in amounts:
        start, end = _clause(text, money.start, money.end)
        clause = text[start:end]
        named = [m for m in mentions if start <= m.start < end] or _lone(text, amounts, mentions)
        if _CHARGE_RE.search(clause) or text[: money.start].rstrip().endswith("+"):
            if has_total and re.search(r"labou?r", clause, re.I) and not _TOTAL_RE.search(clause):
                continue
            component = (
                None if not _sticks(named, money, text) else nearest_mention(named, money.start, money.end, text).component
            )
        elif named:
            component = nearest_mention(named, money.start, money.end, text).component
        elif money in bare and len(bare) > 1 and len(waiting) >= len(bare):
            component = waiting[len(waiting) - len(bare) + bare.index(money)]
        elif _PART_WORD_RE.search(clause) and ledger.fitted:
            component = (waiting or ledger.fitted)[-1]
        else:
            component = waiting[-1] if waiting else None
        bound.append((money, component))
        if component:
            ledger.priced.add(component)
            waiting = waiting if len(bare) > 1 else ledger.unpriced()
    return bound


def _stands_bare(text: str, money: Money, mentions: Sequence[Mention]) -> bool:
    start, end = _clause(text, money.start, money.end)
    return not any(start <= m.start < end for m in mentions) and not _CHARGE_RE.search(text[start:end])


def _lone(text: str, amounts: Sequence[Money], mentions: Sequence[Mention]) -> list[Mention]:
    """The components of the sentence, where it holds one amount alone."""
    major = [mention for mention in mentions if not mention.minor] or list(mentions)
    return major if len(amounts) == 1 else []


def _sticks(named: Sequence[Mention], money: Money, text: str) -> bool:
    """Whether a component stands so close to an amount that a word of charging does not part them."""
    return any(
        re.fullmatch(r"\s*(?:for (?:the |a )?|was |is |'s )?", _between(mention, money.start, money.end, text))
        for mention in named
    )


def _between(mention: Mention, start: int, end: int, text: str) -> str:
    return text[end : mention.start] if mention.start >= end else text[mention.end : start]


def nearest_mention(mentions: Sequence[Mention], start: int, end: int, text: str) -> Mention:
    """The component said nearest to a place; one in the same clause before one in another."""

    def distance(mention: Mention) -> tuple[int, int]:
        between = _between(mention, start, end, text)
        return (len(re.findall(r"[,;]|\b(?:and|but|then)\b", between)), len(between))

    return min(mentions, key=distance)
