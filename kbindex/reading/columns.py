"""What the columns of a table of tickets hold, whatever the shop calls them: told by headings and cells together."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kbindex.reading.amounts import find_reading
from kbindex.reading.cells import is_date, looks_like_minutes, looks_like_price, name_machine
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.privacy import find_private
from kbindex.reading.result_cells import read_result_cell_plainly


class Column(StrEnum):
    """What a column of a ticket table holds."""

    PRIVATE = "private"
    JOB_NO = "job_no"
    EARLIER = "earlier"
    TICKED = "ticked"
    DATE = "date"
    MACHINE = "machine"
    COMPLAINT = "complaint"
    FOUND = "found"
    WORK = "work"
    PARTS = "parts"
    RESULT = "result"
    PRICE = "price"
    MINUTES = "minutes"
    REMARKS = "remarks"
    OTHER = "other"


MEANT: Mapping[str, Column] = {
    "number": Column.JOB_NO, "date": Column.DATE, "machine": Column.MACHINE, "complaint": Column.COMPLAINT,
    "found": Column.FOUND, "work": Column.WORK, "parts": Column.PARTS, "result": Column.RESULT, "price": Column.PRICE,
    "minutes": Column.MINUTES, "customer": Column.PRIVATE, "earlier job": Column.EARLIER, "remarks": Column.REMARKS,
    "ignore": Column.OTHER,
}  # fmt: skip
"""The plain words of `settings.COLUMN_MEANINGS`, by which a shop says what a column holds."""

TOLD_IN_WORDS = frozenset((Column.COMPLAINT, Column.FOUND, Column.WORK, Column.PARTS, Column.RESULT, Column.REMARKS))
"""Columns whose cells are read as text; a table with none of them tells nothing."""

_HEADINGS: tuple[tuple[Column, float, str], ...] = (
    (Column.EARLIER, 3, r"call\s?-?backs?|\bc/b\b|return (?:of|to|for|from)|\bprev\w*|\bearlier|\brework|\bfollow|\borig|\brecall|\bredo|came back (?:of|from|on)|first visit"),
    (Column.EARLIER, 1.5, r"\breturn"),
    (Column.PRIVATE, 3, r"cust(?:omer|\b|s\b)|client|\bname|phone|\btel\b|mobile|\baddr|street|e-?mail|contact|\bgate\b|\bzip\b|owner|\bfolks?\b|tenant|landlord|resident|household|caller|patron|\bquien\b"),
    (Column.PRIVATE, 2.5, r"\bwho(?:se|m|s)?\b|\bwhere\b|\bflat\b|\bapt\b|apartment|unit no|\bcity\b|\btown\b|location|premises|\broom\b|\bhouse\b|\bcell\b|\bsite\b|\bring\b|people|person|neighbou?r|\bdoor\b|belongs|\blives\b|\bfamily\b|\bparty\b|technician|\btech\b|initials|donde"),
    (Column.JOB_NO, 3, r"work ?-?order|(?:job|ticket|call|slip|order|paper|compl\w*|case|docket|invoice|chit|tag|sheet|card)s?\s*(?:no\b|nr|#|num|id\b)"),
    (Column.JOB_NO, 2, r"ticket|\bjobs?\b|\bwo\b|\border|\bcall\b|^\W*no\b|number|numbr|#|\bid\b|\bref\b|\breference|\bnum\b|\bnr\b|\bslips?\b|\bchits?\b|\btix\b|\btkt?\b|docket|paper|invoice|\bcard\b|\bcase\b|\bn[°º]|\bentry\b|\btag\b|numero"),
    (Column.PRICE, 3, r"[$£€₹]|\bprice|\bcost|\bamount|\bcharge|\busd\b|\bdosh\b|\bmoney|\bplata\b|\bbucks\b|parts? (?:total|spend|bill)|dollars|\brupees|\bquid\b|\bdinero"),
    (Column.PRICE, 2, r"\bpaid|\bdamage|\bbill(?:ed)?\b|\bspent|\bspend|\binvoiced|\bfee\b|\bcash\b|\btotal\b|\bowed?\b|\brs\b\.?|\binr\b|\beur\b|\bgbp\b|\bamt\b|\btakings"),
    (Column.MINUTES, 3, r"\bmins?\b|minutes|\bhours?\b|\bhrs?\b|duration|how long|\bminutos"),
    (Column.MINUTES, 2, r"\btime\b|labou?r|\bclock|\bbells\b|\btook\b|\btiempo|\bwatch\b|stopwatch"),
    (Column.DATE, 2.5, r"\bdates?\b|\bday\b|\bfecha|came in|which (?:day|morning|date)|calendar"),
    (Column.DATE, 2, r"opened|closed|\bwhen\b|\bvisit|logged|received|booked|\bmorning\b|called (?:in|on)|\bwent on\b"),
    (Column.REMARKS, 2.5, r"\bps\b|\bp\.s\.?|scribbl|trainee|apprentice|next time|reminder|lesson|by the way|\bmemo\b|\bmisc"),
    (Column.REMARKS, 2, r"\bnotes?\b|remark|comment|\bextra|\btips?\b|thoughts|opinion|\bnotas?\b|anything else|\brant\b|mutter"),
    (Column.FOUND, 3, r"\bnot (?:bought|changed|replaced|needed|guilty)|\bkept\b|ruled out|left alone|looked at|poked|\bmeter\b|\breadings?\b|measure|diagnos|inspect|what (?:i|we) (?:look|see|saw|found)|examined|probed"),
    (Column.FOUND, 2, r"\bfound\b|finding|\bsaw\b|check(?:ed|s)?\b|\btests?\b|\bcause|observ|suspect|\blook"),
    (Column.RESULT, 3, r"\b(?:says|reads|does|goes|is|how) (?:it |she |he )?now\b|result|outcome|test run|trial|any good|did the trick|happy|\bproof\b|how (?:it|she|he|they|things|i left|we left)|did it (?:work|obey|hold|help)|turned out|worked\??$|came out|upshot|tick or"),
    (Column.RESULT, 2, r"\bwork(?:ed|ing|s)\b|status|\bfixed\b|\bok\b|\bafter|solved|cured|did it|\bend(?:ed|ing)?\b|\bleft\b|obey|^\W*now\W*$|verdict|\bwent\b|what came|\bfinal|success|afterwards|\bresultado"),
    (Column.COMPLAINT, 4, r"(?:cust\w*|client|owner|caller|tenant|they|she|he|folks?)'?s? (?:says?|said|states?|stated|told|tells?|compl\w*|reports?|reported|rang about)"),
    (Column.COMPLAINT, 3, r"complain|problem|symptom|gripe|\bmoan|grumbl|trouble|what'?s wrong|reported|call reason|concern|\bqueja|\bfalla\b|paining|\bailing|\bails\b|eat(?:in|ing)\b"),
    (Column.COMPLAINT, 2, r"\bissue|\bfault|\bsays?\b|\bsaid\b|\bwrong|\bbeef\b|\bwhin|\bmatter\b|bother|misbehav|\bacting|\breason\b|\bwhy\b|\btells? (?:me|us)|\bpain|\bgrief\b|\bcry|\bdoing\b"),
    (Column.WORK, 3.5, r"\bwork\b.{0,12}(?:&|\band\b|\+|/)|\b(?:try|attempt|go|step|fix) ?#?\d|(?:1st|2nd|3rd|4th|first|second|third|next|then|last) (?:go|try|tried|attempt|step|fix|thing)|this time|(?:others?|before us|already|owner|cust\w*|they) (?:had )?tried|tried (?:before|already|first)"),
    (Column.WORK, 3, r"(?:what|stuff|things?) (?:i|we|my|was|had)\b.{0,14}\b(?:did|done|do|hands?)\b|work (?:done|performed|carried)|\bmy hands?\b|what (?:i|we) d[oi]|performed|treatment|remedy|^\W*mine\W*$"),
    (Column.WORK, 2, r"\bdid\b|\bwork\b|\bdone\b|action|repair|\bfix\b|what we|descr|tried|\bcure\b|\bswapped|attempt|\bsteps?\b|\bservice\b|trabajo|\brep\b"),
    (Column.PARTS, 2, r"\bparts?\b|component|replaced|\bused\b|\bspares?\b|\bmaterials?\b|fitted|installed|piezas?"),
    (Column.PARTS, 1.5, r"\bbits\b|\bpieces\b|\bnew\b"),
    (Column.MACHINE, 2.5, r"machine|appliance|equip|contraption|\baparato|\bbeast\b|\bgadget|\bdevice|\bmach\b|what (?:is it|it is)|\bapparatus|\bcritter|\bm/?c\b|\beqpt\b|\bmaquina"),
    (Column.MACHINE, 2, r"\bunit\b|\btype\b|\bproduct|\bmake\b|\bkind\b|\bbox\b|\bthing\b|\bpatient\b|\bitem\b|\bmodel\b|\brig\b"),
    (Column.MACHINE, 1, r"\bwhat\b"),
)  # fmt: skip

_SHORT_HEADINGS: Mapping[str, tuple[Column, float]] = {
    "comp": (Column.COMPLAINT, 3), "compl": (Column.COMPLAINT, 3), "cmplnt": (Column.COMPLAINT, 3), "prob": (Column.COMPLAINT, 3),
    "sx": (Column.COMPLAINT, 3), "res": (Column.RESULT, 3), "rslt": (Column.RESULT, 3), "rs": (Column.PRICE, 3), "dt": (Column.DATE, 3),
    "d": (Column.DATE, 1), "m": (Column.MACHINE, 1), "c": (Column.COMPLAINT, 1), "w": (Column.WORK, 1), "r": (Column.RESULT, 1),
    "p": (Column.PRICE, 1),
}  # fmt: skip
"""Headings cut short, as they stand alone, with how strongly they speak."""

_PATTERNS: list[tuple[Column, float, re.Pattern[str]]] = []


def read_heading(heading: str) -> dict[Column, float]:
    """What a heading may mean, with how strongly it says so: 3 is plain, 1 a hint; empty where it says nothing."""
    text = " ".join(heading.replace("_", " ").replace("’", "'").lower().split())
    said = dict([_SHORT_HEADINGS[text.rstrip(".")]]) if text.rstrip(".") in _SHORT_HEADINGS else {}
    for column, weight, pattern in _patterns():
        if weight > said.get(column, 0.0) and pattern.search(text):
            said[column] = weight
    return said


def _patterns() -> list[tuple[Column, float, re.Pattern[str]]]:
    """Compiled once, when the first table is read."""
    if not _PATTERNS:
        _PATTERNS.extend((column, weight, re.compile(pattern)) for column, weight, pattern in _HEADINGS)
    return _PATTERNS


def plain_heading(heading: str) -> str:
    """A heading as it is compared with others: case and white space do not count."""
    return " ".join(heading.casefold().split())


def name_columns(
    rows: Sequence[Sequence[tuple[str, str]]], lexicon: Lexicon, said: Mapping[str, str] | None = None
) -> dict[str, Column]:
    """Tell what each column of a table holds: by what the shop has `said` of its heading, else by heading and cells together.

    Heading and cells each give points to each meaning, so that a wrong guess of one is outvoted by the other. A meaning
    that can be there only once (the date) goes to the column with the most points for it.
    """
    cells = _by_heading(rows)
    told = {plain_heading(heading): MEANT[meaning] for heading, meaning in (said or {}).items()}
    named = {heading: told[plain_heading(heading)] for heading in cells if plain_heading(heading) in told}
    free = {heading: texts for heading, texts in cells.items() if heading not in named}
    points = [
        (score, -place, heading, column)
        for place, (heading, texts) in enumerate(free.items())
        for column, score in _points(heading, texts, lexicon).items()
    ]
    for score, _, heading, column in sorted(points, key=lambda one: (-one[0], -one[1], _PRIORITY[one[3]])):
        if heading in named or score < _ENOUGH or (column in _ONLY_ONCE and column in named.values()):
            continue
        named[heading] = column
    _fill_in(named, [heading for heading in free if heading not in named], points)
    return _settle({heading: named.get(heading, Column.OTHER) for heading in cells}, cells, told)


_ENOUGH = 0.95
"""Points that a meaning needs: a heading that hints at it, or cells of which most look like it."""
_ONLY_ONCE = frozenset((Column.JOB_NO, Column.DATE, Column.MACHINE, Column.MINUTES, Column.EARLIER))
_PRIORITY = {column: place for place, column in enumerate(Column)}
_LEAST = 0.0
"""Points that do for a meaning which no other column has."""
_USUALLY_THERE = (Column.COMPLAINT, Column.WORK, Column.RESULT, Column.MINUTES, Column.PRICE, Column.DATE, Column.MACHINE)
_LOOKED_AT_CELLS = 40


def _fill_in(named: dict[str, Column], left: Sequence[str], points: Sequence[tuple[float, int, str, Column]]) -> None:
    """Give what almost every table has, and no column was found for, to the likeliest column left, in the usual order."""
    for column in _USUALLY_THERE:
        if column in named.values():
            continue
        fitting = [one for one in points if one[3] is column and one[2] in left and one[2] not in named]
        score, _, heading, _ = max(fitting, default=(-9.0, 0, "", column))
        if score > _LEAST and score >= max(one[0] for one in points if one[2] == heading) - _CLOSE:
            named[heading] = column


_CLOSE = 0.3
"""How far below a column's best guess a meaning may be that is still missing."""


def _by_heading(rows: Sequence[Sequence[tuple[str, str]]]) -> dict[str, list[str]]:
    cells: dict[str, list[str]] = {}
    for row in rows:
        for heading, text in row:
            cells.setdefault(heading, []).extend([text.strip()] if re.search(r"[^\W_]|[$?✓✔]", text) else [])
    return cells


def _settle(named: dict[str, Column], cells: Mapping[str, Sequence[str]], told: Mapping[str, Column]) -> dict[str, Column]:
    """What follows from the other columns: numbers of earlier rows are earlier jobs, remarks without work done are the work."""
    numbers = {_figures(text) for heading, column in named.items() if column is Column.JOB_NO for text in cells[heading]}
    for heading, column in named.items():
        held = [_figures(text) for text in cells[heading]]
        returns = column is Column.OTHER and held and numbers.issuperset(held) and Column.EARLIER not in named.values()
        if returns and plain_heading(heading) not in told:
            named[heading] = Column.EARLIER
    named |= _ticked({heading: column for heading, column in named.items() if plain_heading(heading) not in told}, cells)
    for heading, column in named.items():
        priced = column is Column.PARTS and _share(looks_like_price, cells[heading]) > _ENOUGH_PRICES
        if priced and Column.WORK in named.values() and plain_heading(heading) not in told:
            named[heading] = Column.PRICE
    if not {Column.WORK, Column.PARTS} & set(named.values()):
        for heading, column in named.items():
            if column is Column.REMARKS and plain_heading(heading) not in told:
                named[heading] = Column.WORK
    return named


_ENOUGH_PRICES = 0.55
_SURE = frozenset((Column.JOB_NO, Column.DATE, Column.MACHINE, Column.COMPLAINT, Column.PRICE, Column.MINUTES))
_TICK_RE = re.compile(r"(?:x|y|yes|1|ok|tick|done|[✓✔*•])[.!]?", re.IGNORECASE)
_TICKED_OPERATIONS: tuple[tuple[str, str], ...] = (
    (r"re-?seat", "reseated"), (r"repl|\bnew\b|\bchang|\bswap|\brenew|\bfitted", "replaced"), (r"clean|\bcln", "cleaned"),
    (r"\badj|\bset\b|\blevel", "adjusted"), (r"repair|\bmend|\bfix|\brep\b", "repaired"), (r"re-?set\b", "reset"), (r"bypass|\bjump", "bypassed"),
)  # fmt: skip


def _ticked(named: Mapping[str, Column], cells: Mapping[str, Sequence[str]]) -> dict[str, Column]:
    """The columns in which operations are ticked off, and the one that names the part that they were done to."""
    found = {
        heading: Column.TICKED
        for heading, column in named.items()
        if column not in _SURE and ticks_operation(heading) and cells[heading] and all(map(_TICK_RE.fullmatch, cells[heading]))
    }
    parts = {heading: Column.PARTS for heading, column in named.items() if column is Column.WORK and found}
    return parts | found


def ticks_operation(heading: str) -> str | None:
    """The operation, as a verb, that a column of ticks stands for."""
    text = plain_heading(heading)
    return next((verb for pattern, verb in _TICKED_OPERATIONS if re.search(pattern, text)), None)


def _share(test: Callable[[str], float], texts: Sequence[str]) -> float:
    return sum(map(test, texts)) / len(texts) if texts else 0.0


def _figures(text: str) -> str:
    return re.sub(r"\D", "", text) or text


def _points(heading: str, texts: Sequence[str], lexicon: Lexicon) -> dict[Column, float]:
    points = read_heading(heading)
    texts = texts[:_LOOKED_AT_CELLS]
    if not texts:
        return points
    for column, look in _LOOKS.items():
        share = look.share_of(texts, lexicon)
        points[column] = points.get(column, 0.0) + max(look.weight * (share - look.usual), look.least)
        if column is Column.WORK and share >= _TELLS_OF_WORK:  # "played (w/ price)", "who got there first"
            for other in (Column.PRIVATE, Column.PRICE):
                points[other] = points.get(other, 0.0) - _NOT_OF_WORK
    return points


_TELLS_OF_WORK, _NOT_OF_WORK = 0.5, 2.0
"""The share of cells that tell of work from which a column is hardly one of people or prices, and the points that go for it."""


@dataclass(frozen=True)
class _Look:
    """How cells speak for a meaning: the share that fits, less the share usual in other columns, times a weight.

    `least` bounds how much cells that do not fit speak against the heading.
    """

    share_of: Callable[[Sequence[str], Lexicon], float]
    weight: float
    usual: float
    least: float


def _mean(test: Callable[[str, Lexicon], float]) -> Callable[[Sequence[str], Lexicon], float]:
    return lambda texts, lexicon: sum(test(text, lexicon) for text in texts) / len(texts)


def _job_numbers(texts: Sequence[str], _: Lexicon) -> float:
    """Numbers of one job each, which rise from row to row."""
    fits = [text for text in texts if re.fullmatch(r"(?:[A-Za-z]{1,4}|#|no\.?)?\s*[-#/]?\s*\d{2,7}[A-Za-z]?", text)]
    values = [int(_figures(text)[:9]) for text in fits]
    if not values:
        return 0.0
    rising = sum(one < other for one, other in zip(values, values[1:], strict=False)) / max(1, len(values) - 1)
    long = sum(value >= 100 for value in values) / len(values)
    each_own = len(set(values)) / len(values)
    return len(fits) / len(texts) * each_own * (0.4 + 0.3 * rising + 0.3 * long)


def _machine(text: str, lexicon: Lexicon) -> float:
    return float(len(text.split()) <= 8 and name_machine(text, lexicon) is not None and not lexicon.operations.find(text))


def _private(text: str, _: Lexicon) -> float:
    if len(text.split()) > 9:
        return 0.0
    hidden = sum(end - start for start, end in find_private(text))
    return float(hidden * 3 >= len(text))


def _complaint(text: str, lexicon: Lexicon) -> float:
    return float(_is_told(text) and bool(lexicon.symptoms.find(text)) and not lexicon.operations.find(text))


def _work(text: str, lexicon: Lexicon) -> float:
    if not _is_told(text):
        return 0.0
    return (
        1.0 if lexicon.operations.find(text) else 0.6 if lexicon.find_parts(text) and not lexicon.symptoms.find(text) else 0.0
    )


def _result(text: str, lexicon: Lexicon) -> float:
    if looks_like_price(text) or is_date(text):
        return 0.0
    return float(bool(lexicon.results.find(text)) or read_result_cell_plainly(text) is not None)


def _found(text: str, lexicon: Lexicon) -> float:
    told = _is_told(text) and not lexicon.operations.find(text)
    return float(told and (find_reading(text) is not None or bool(_LOOKED_AT_RE.search(text))))


def _is_told(text: str) -> bool:
    return not (is_date(text) or re.fullmatch(r"[\W\d]*", text))


_LOOKED_AT_RE = re.compile(
    r"\b(?:ohms?|ok|good|fine|tested|open|shorted|bad|burnt|worn|stuck|clear|clean|whole|volts?|\d+v)\b", re.IGNORECASE
)

_LOOKS: Mapping[Column, _Look] = {
    Column.DATE: _Look(_mean(lambda text, _: float(is_date(text))), 4, 0.35, -2),
    Column.JOB_NO: _Look(_job_numbers, 4, 0.45, -1.6),
    Column.MACHINE: _Look(_mean(_machine), 3.5, 0.4, -1.6),
    Column.MINUTES: _Look(_mean(lambda text, _: looks_like_minutes(text)), 3, 0.4, -1.6),
    Column.PRICE: _Look(_mean(lambda text, _: looks_like_price(text)), 3, 0.5, -1.6),
    Column.PRIVATE: _Look(_mean(_private), 4, 0.3, -0.4),
    Column.COMPLAINT: _Look(_mean(_complaint), 2.5, 0.4, -0.8),
    Column.WORK: _Look(_mean(_work), 2.5, 0.45, -0.8),
    Column.RESULT: _Look(_mean(_result), 2.5, 0.5, -0.8),
    Column.FOUND: _Look(_mean(_found), 2, 0.6, -0.5),
}  # fmt: skip


def known_headings(headings: Collection[str]) -> int:
    """How many of the headings say anything."""
    return sum(bool(read_heading(heading)) for heading in headings)
