"""What each amount of money in a sentence is the price of: a component named there, the part just fitted, or the work as a whole."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from kbindex.reading.amount_links import Link
from kbindex.reading.amounts import Money
from kbindex.reading.lexicon import Mention

CHARGE_RE = re.compile(
    r"\b(?:(?<!no )(?<!nc )(?<!n/c )(?<!free )(?:labou?r|labr|lab)|trip|diagnos\w*|diag|call[\s-]?(?:out|fee)|service|total|bill(?:ed)?|invoice\w*|chg|charg(?:ed?|ing)|per hour|"
    r"all (?:in|told|up)|in all|altogether|visit(?:ing)?|tickets?|fee|flat|paid|pays?|gave|owes?|collected|out the door|cash|goodwill|auction|"
    r"work(?= (?:is|was|comes?|came)\b)|"
    r"for (?:me|my \w+|us|the (?:trip|call|visit|labou?r|work|cleaning|hour|job))|(?:told|took|take) (?:her|him|them|from)|min(?:imum)? charge)\b|\bcall(?=\W*$)",
    re.IGNORECASE,
)
"""Cues that an amount is for work, a visit or all together."""
TOTAL_RE = re.compile(r"\b(?:total|all (?:in|told|up)|in all|altogether|out the door)\b", re.IGNORECASE)
"""Cues of a total: the last amount after one of them is what all came to."""

_PART_WORD_RE = re.compile(
    r"\b(?:parts?|it|one|piece|set|kit|pair|pr|thing|that|each|trade|counter|bag|apiece)\b", re.IGNORECASE
)
_CLAUSE_RE = re.compile(r"[,;/|]|\.(?!\d)|\s-\s|\b(?:and|but|so|plus|because|which|then)\b", re.IGNORECASE)
_NAMED_FIRST_RE = re.compile(
    r"^s?(?:'s|es)?[\s,:=-]*(?:(?:is|was|were|are|it'?s|cost|costs|costing|ran|runs|me|us|comes? to|at|kit|set|new|only|a|the|itself|alone|together|just|like|about|call it)[\s,]*){0,4}$",
    re.IGNORECASE,
)
_NAMED_LAST_RE = re.compile(
    r"^\s*(?:(?:each|apiece|cash|trade|and change)\s+)?(?:(?:he|she|i|we|they) )?(?:paid )?(?:for|on|worth of|of|in)\s+(?:(?:the|that|this|a|both|two|new|my|her)\s+){0,2}$",
    re.IGNORECASE,
)
_TIME_BEFORE_RE = re.compile(r"\b\d+ ?(?:min(?:s|utes)?|hrs?|h)\.?(?: \d{1,2})?\s*[,;:/-]?\s*$", re.IGNORECASE)
"""Time and then money is what the work came to: "70 min, $105"."""
_UNBOUND = 9.0
_LINKED, _USUAL_LINK = 4.0, 0.3
"""What a certain link between an amount and a component is worth, and the chance of one that says nothing."""
_CHARGED_HERE, _CHARGED_NEAR = 1.0, 3.5


Links = Mapping[Money, Link]


@dataclass
class Ledger:
    """What has been fitted so far, in order, and what has a price already."""

    fitted: list[str] = field(default_factory=list)
    priced: set[str] = field(default_factory=set)

    def unpriced(self) -> list[str]:
        """Components fitted that have no price yet, in order."""
        return [component for component in dict.fromkeys(self.fitted) if component not in self.priced]


def find_clause(text: str, start: int, end: int) -> tuple[int, int]:
    """Where the clause begins and ends in which a place stands."""
    begin = max((m.end() for m in _CLAUSE_RE.finditer(text, 0, start) if m.end() <= start), default=0)
    return begin, next((m.start() for m in _CLAUSE_RE.finditer(text, end)), len(text))


def bind_prices(
    text: str, amounts: Sequence[Money], mentions: Sequence[Mention], ledger: Ledger, links: Links
) -> list[tuple[Money, str | None]]:
    """Give each amount its component; what is fitted and not named takes a bare amount, work and totals have None."""
    major = [mention for mention in mentions if not mention.minor] or list(mentions)
    bound = _align(text, amounts, major, links)
    ledger.priced.update(component for component in bound if component)
    waiting = ledger.unpriced()
    bare = [n for n, money in enumerate(amounts) if bound[n] is None and not is_charge(text, money, amounts)]
    for n in bare:
        later = sum(other > n for other in bare)
        clause = text[slice(*find_clause(text, amounts[n].start, amounts[n].end))]
        if len(waiting) > later:
            bound[n] = waiting[len(waiting) - 1 - later]
        elif ledger.fitted and _PART_WORD_RE.search(clause):
            bound[n] = ledger.fitted[-1]
    for n, money in enumerate(amounts):
        part = links[money].sure_part
        if part and part not in bound and not is_charge(text, money, amounts):
            bound[n] = part
    ledger.priced.update(component for component in bound if component)
    return list(zip(amounts, bound, strict=True))


def is_charge(text: str, money: Money, amounts: Sequence[Money]) -> bool:
    """Whether an amount is said to be for work, a visit or all together."""
    return _charge(text, money, amounts) < _UNBOUND


def _charge(text: str, money: Money, amounts: Sequence[Money]) -> float:
    """What it costs to leave an amount without a component: little where a word of charging stands beside it."""
    begin, end = find_clause(text, money.start, money.end)
    begin = max([begin, *(other.end for other in amounts if other.end <= money.start)])
    end = min([end, *(other.start for other in amounts if other.start >= money.end)])
    before, after = text[begin : money.start], text[money.end : end]
    if re.search(r"\+\s*$", text[: money.start]) or _TIME_BEFORE_RE.search(text[: money.start]):
        return _CHARGED_HERE
    if TOTAL_RE.search(text[: money.start]) and money is amounts[-1]:
        return _CHARGED_HERE
    if (last := [m.end() for m in CHARGE_RE.finditer(before)]) and len(before) - last[-1] <= 12:
        return _CHARGED_HERE
    if (first := CHARGE_RE.search(after)) and first.start() <= 6:
        return _CHARGED_HERE
    return _CHARGED_NEAR if CHARGE_RE.search(before) or CHARGE_RE.search(after) else _UNBOUND


def _align(text: str, amounts: Sequence[Money], mentions: Sequence[Mention], links: Links) -> list[str | None]:
    """Pair amounts with components in their order so that the pairs together lie nearest; one may go without."""

    @cache
    def best(n: int, m: int) -> tuple[float, tuple[int, ...]]:
        if n == len(amounts):
            return 0.0, ()
        rest, alone = best(n + 1, m)
        options = [(rest + _charge(text, amounts[n], amounts), (-1, *alone))]
        for place in range(m, len(mentions)):
            rest, chosen = best(n + 1, place + 1)
            price = _distance(text, amounts[n], mentions[place]) + 6 * _is_parted(amounts[n], mentions[place], amounts)
            price += _LINKED * (_USUAL_LINK - links[amounts[n]].chances.get(mentions[place].component, 0.0))
            options.append((rest + price, (place, *chosen)))
        return min(options)

    return [mentions[place].component if place >= 0 else None for place in best(0, 0)[1]]


def _distance(text: str, money: Money, mention: Mention) -> float:
    if mention.start >= money.end:
        between = text[money.end : mention.start]
        close = 0.5 if _NAMED_LAST_RE.match(between) else 1.5 if not between.strip() else None
    elif mention.end <= money.start:
        between = text[mention.end : money.start]
        close = (1.0 if not between.strip("s ") else 0.0) if _NAMED_FIRST_RE.match(between) else None
    else:
        return 1.0
    breaks = len(re.findall(r"[,;.]|\b(?:and|but|then|so)\b", between))
    return close if close is not None else 3.0 + len(between) / 12 + 1.5 * breaks


def _is_parted(money: Money, mention: Mention, amounts: Sequence[Money]) -> bool:
    """Whether another amount stands between an amount and a component."""
    start, end = min(money.end, mention.end), max(money.start, mention.start)
    return any(start <= other.start and other.end <= end for other in amounts if other is not money)
