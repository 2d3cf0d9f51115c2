"""Cells of a table that need no reading of sentences: dates, lengths of time, prices, machines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches

from kbindex.reading import labels
from kbindex.reading.amounts import find_job_minutes, find_money
from kbindex.reading.lexicon import Lexicon, plain

Day = tuple[int | None, int, int]
"""Year (None where it is not written), month, day."""

_MONTHS = {
    "jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "oct": 10, "nov": 11, "dec": 12,
    "ene": 1, "abr": 4, "ago": 8, "dic": 12, "mai": 5, "mrz": 3, "mär": 3, "okt": 10, "dez": 12, "fev": 2, "fév": 2, "avr": 4,
}  # fmt: skip
"""Months by their first three letters, as people write them who learnt them in another language too."""

_WEEKDAY = r"(?:mon|tue|tues|wed|weds|thu|thur|thurs|fri|sat|sun)(?:day|sday|nesday|rsday|urday)?\.?,?\s+"
_YEAR = r"(?P<year>20\d\d|'?\d\d)"
_MONTH = r"(?P<name>[a-zäé]{3,10})\.?"
_ORDINAL = r"(?:st|nd|rd|th)?"
_DAY_FORMS = tuple(
    re.compile(rf"\W*(?:{_WEEKDAY})?{form}(?![\d/.-]\d)", re.IGNORECASE)
    for form in (
        r"(?P<year>20\d\d)[-/._]?(?P<month>\d\d?)[-/._]?(?P<day>\d\d?)(?!\d)",
        rf"(?P<one>\d\d?)[/.-](?P<two>\d\d?)[/.-]{_YEAR}(?!\d)",
        rf"(?P<day>\d\d?){_ORDINAL}[\s-]*(?:of\s+|de\s+)?{_MONTH}(?:,?[\s-]*(?:de\s+)?{_YEAR}(?!\d))?",
        rf"{_MONTH}[\s-]*(?P<day>\d\d?){_ORDINAL}(?!\d)(?:,?[\s-]+{_YEAR}(?!\d))?",
        r"(?P<one>\d\d?)[/.-](?P<two>\d\d?)(?![\d/.-])",
    )
)
_LONGEST_REST = 12


def find_days(cell: str) -> list[Day]:
    """The days that a cell may mean, the month first of two ("4/3/26"); none where it is no date."""
    text = plain(cell).strip()
    for form in _DAY_FORMS:
        match = form.match(text)
        if match and len(text) - match.end() <= _LONGEST_REST:
            days = [day for day in _days_of(match.groupdict()) if _as_date(day, 2024)]
            if days:
                return days
    return []


def is_date(cell: str) -> bool:
    """Whether a cell is a date and nothing else; a price of "4.20" is none."""
    text = cell.strip()
    return bool(find_days(text)) and not re.fullmatch(r"\d+\.\d\d?", text)


def _days_of(parts: dict[str, str | None]) -> list[Day]:
    written = (parts.get("year") or "").lstrip("'")
    year = int(written) + (2000 if len(written) == 2 else 0) if written else None
    if parts.get("one"):
        one, two = int(str(parts["one"])), int(str(parts["two"]))
        return list(dict.fromkeys([(year, one, two), (year, two, one)]))
    name = (parts.get("name") or "").lower()
    month = _MONTHS.get(name[:3]) if name else int(str(parts["month"]))
    return [(year, month, int(str(parts["day"])))] if month else []


def _as_date(day: Day, year: int) -> date | None:
    try:
        return date(day[0] or year, day[1], day[2])
    except ValueError:
        return None


def read_dates(cells: Sequence[str], path: str, day_first: bool) -> list[str | None]:
    """Read a column of dates as ISO 8601; what one cell leaves open (the order of 4/3, the year) its neighbours tell.

    A year that no cell tells is looked for in the file's name; without one the date stays None.
    """
    meant = [find_days(cell) for cell in cells]
    certain = {place: found for place, days in enumerate(meant) if len(days) == 1 and (found := _whole(days[0]))}
    named = re.search(r"(?<!\d)20\d\d(?!\d)", path)
    read = []
    for place, (cell, days) in enumerate(zip(cells, meant, strict=True)):
        near = [certain[other] for other in sorted(certain, key=lambda other: abs(other - place))[:2] if other != place]
        first = day_first or (re.match(r"\s*\d+\.\d+\.", cell) is not None)
        years = [one.year for one in near] or [day[0] for days in meant for day in days if day[0]]
        usual = years[0] if years else int(named.group()) if named else None
        chosen = certain.get(place) or _choose(days[::-1] if first else days, near, usual)
        read.append(chosen.isoformat() if chosen else labels.find_date(cell, day_first))
    return read


def _whole(day: Day) -> date | None:
    return _as_date(day, 0) if day[0] else None


def _choose(days: Sequence[Day], near: Sequence[date], year: int | None) -> date | None:
    """The day nearest to its neighbours in the column; the first without any."""
    years = [] if year is None else [year, year + 1, year - 1] if near else [year]
    open_days = [(day, one) for day in days for one in ([day[0]] if day[0] else years)]
    found = [whole for day, one in open_days if (whole := _as_date(day, one))]
    return min(found, key=lambda one: sum(abs((one - other).days) for other in near), default=None)


_ABOUT_RE = re.compile(
    r"\b(?:abt|about|approx\w*|around|roughly|circa|ca|nearly|almost|took|just|under|over)\b\.?|~|(?<=\d)\s?ish\b|\bish\b",
    re.IGNORECASE,
)
_HOURS_RE = re.compile(
    r"(?P<hours>\d+(?:[.,]\d+)?)\s*(?P<half>½|1/2)?\s*-?(?:h|hrs?|hours?|horas?)\b\.?(?:\s*(?:and|&|,|\+)?\s*(?P<min>\d{1,2})\s*(?:'|m|mins?|minutes?)?(?![\w.:]))?"
    r"|(?P<hours2>\d+)\s?h\s?(?P<min2>\d{1,2})(?:\s?m(?:in)?)?\b",
    re.IGNORECASE,
)
_MINUTES_RE = re.compile(r"(?P<min>\d+(?:[.,]\d+)?)\s*-?(?:m|mins?|minutes?|minutos?|mn|')(?![a-z])", re.IGNORECASE)
_COLON_RE = re.compile(r"\s*(?P<hours>\d{1,2}):(?P<min>[0-5]\d)(?:\s*h\w*)?\s*$")
_FROM_TO_RE = re.compile(r"\s*(\d{1,2})[:.]([0-5]\d)\s*(?:-|to|till|until)\s*(\d{1,2})[:.]([0-5]\d)\s*$", re.IGNORECASE)
_HALF_RE = re.compile(r"\b(?:1/2|half|½)\s*(?:an?\s+)?(?:h|hr|hour)\b|½\s*h|\bhalf\b", re.IGNORECASE)
_BARE_RE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*\W*$")
_LONGEST_JOB_MIN = 900
_MOST_HOURS = 8


def read_minutes(cells: Sequence[str], heading: str) -> list[int | None]:
    """Read a column of lengths of time; bare numbers are minutes, or hours where the heading says so or all are small."""
    bare = [float(match.group(1).replace(",", ".")) for cell in cells if (match := _BARE_RE.match(_ABOUT_RE.sub("", cell)))]
    in_minutes = re.search(r"\bmin|_min", heading, re.IGNORECASE)
    hourly = re.search(r"\bh(?:ou)?rs?\b|_hrs?\b", heading, re.IGNORECASE) or (bare and max(bare) <= _MOST_HOURS)
    return [_minutes_of(cell, 60.0 if hourly and not in_minutes else 1.0) for cell in cells]


def _minutes_of(cell: str, unit: float) -> int | None:
    text = _ABOUT_RE.sub("", plain(cell)).strip()
    found = _minutes_said(text)
    bare = _BARE_RE.match(text)
    if found is None and bare:
        found = float(bare.group(1).replace(",", ".")) * unit
    if found is None and text:
        found = find_job_minutes(f"took {text}", is_note=True)
    return round(found) if found and found <= _LONGEST_JOB_MIN else None


def _minutes_said(text: str) -> float | None:
    """Minutes where the cell writes a unit, a clock's colon, or from when to when."""
    if match := _FROM_TO_RE.match(text):
        start, end = (int(match.group(n)) * 60 + int(match.group(n + 1)) for n in (1, 3))
        return float((end - start) % 720)
    if match := _COLON_RE.match(text):
        return int(match.group("hours")) * 60.0 + int(match.group("min"))
    if match := _HOURS_RE.search(text):
        hours = float((match.group("hours") or match.group("hours2")).replace(",", "."))
        more = float(match.group("min") or match.group("min2") or 0)
        half = 0.5 if match.group("half") or re.match(r"\s*(?:and|\+)\s+(?:a )?half", text[match.end() :]) else 0.0
        return (hours + half) * 60 + more
    if match := _MINUTES_RE.search(text):
        return float(match.group("min").replace(",", "."))
    return 30.0 if _HALF_RE.search(text) and len(text) <= 20 else None


def looks_like_minutes(cell: str) -> float:
    """How much a cell looks like a length of time: a bare number may be one."""
    text = _ABOUT_RE.sub("", plain(cell)).strip()
    if len(text) > 24 or find_money(text):
        return 0.0
    if _minutes_said(text) is not None:
        return 0.7 if _COLON_RE.match(text) and int(text.split(":")[0]) > _MOST_HOURS else 1.0
    bare = _BARE_RE.match(text)
    return 0.55 if bare and float(bare.group(1).replace(",", ".")) <= 600 else 0.0


@dataclass(frozen=True)
class Price:
    """An amount in a price cell with the words that stand by it; `currency` is empty where none is written."""

    amount: float
    currency: str
    words: str


_FIGURES_RE = re.compile(r"(?<![\w.])\d{1,3}(?:,\d{3})+(?:\.\d+)?|(?<![\w.])\d+(?:[.,]\d{1,2})?(?![\d])|(?<![\w])\.\d\d")
_NO_PRICE_RE = re.compile(
    r"\s*(?:x\b|h\b|hrs?\b|hours?\b|mins?\b|m\b|%|volts?\b|v\b|ohms?\b|amps?\b|pcs\b|yrs?\b|years?\b|days?\b|gal\b|ml\b|psi\b)",
    re.IGNORECASE,
)
_PARTING_RE = re.compile(r"\s*[+;/&|\n]\s*|,(?!\d|-)\s*|,(?=\d{3,}\.)\s*|\band\b|\bplus\b", re.IGNORECASE)


def read_prices(cell: str) -> list[Price]:
    """Read the amounts of a price cell in order, nought too, for what stands second is seldom the part ("0 / 75")."""
    prices: list[Price] = []
    before = ""
    for piece in _PARTING_RE.split(re.sub(r"(?<=\d)[.,]\s?-+", " ", plain(cell))):
        money = find_money(piece)
        figures = [match for match in _FIGURES_RE.finditer(piece) if not _is_count(piece, match)]
        if money and not _COMMA_CENTS_RE.search(piece):
            prices.append(Price(money[0].amount, money[0].currency, before + _around(piece, money[0].start, money[0].end)))
            before = ""
        elif figures:
            chosen = max(figures, key=lambda match: ("." in match.group() or "," in match.group(), match.start()))
            currency = money[0].currency if money else ""
            times = _TIMES_RE.search(piece[: chosen.start()])
            amount = _amount(chosen.group()) * (int(times.group(1)) if times else 1)
            prices.append(Price(amount, currency, before + _around(piece, *chosen.span())))
            before = ""
        else:
            before = f"{piece} "  # "no parts, 65"
    return prices


def _around(piece: str, start: int, end: int) -> str:
    return f"{piece[:start]} {piece[end:]}"


_TIMES_RE = re.compile(r"(?<![\d.,])(\d{1,2})\s*x\s*$", re.IGNORECASE)
_COMMA_CENTS_RE = re.compile(r"\d,\d\d(?!\d)")


def _is_count(piece: str, match: re.Match[str]) -> bool:
    counted = _NO_PRICE_RE.match(piece, match.end()) or re.search(
        r"(?<!\d)(?<!\d\s)\b(?:x|no\.?|#)\s*$", piece[: match.start()], re.IGNORECASE
    )
    return counted is not None


def _amount(figures: str) -> float:
    return float(figures.replace(",", ".") if re.fullmatch(r"\d+,\d\d?", figures) else figures.replace(",", ""))


def looks_like_price(cell: str) -> float:
    """How much a cell looks like a price: a sign says it, a bare number may be one, and so may a part with a number."""
    text = plain(cell).strip()
    if is_date(text) or len(text.split()) > 8:
        return 0.0
    if find_money(text) and len(text.split()) <= 6:
        return 1.0
    if not read_prices(text) or (_minutes_said(text) is not None and not re.fullmatch(r"[\d.,]+", text)):
        return 0.0
    if re.fullmatch(r"[\d.,+/\s-]+", text):
        return 0.9 if re.search(r"[.,]\d\d\b|[+/]", text) else 0.6
    return 0.8 if re.match(r"[a-z ]+\d|\d", text, re.IGNORECASE) else 0.3


_MACHINE_SHORTS = {
    "fl": "front load", "tl": "top load", "t/l": "", "f/l": "", "micro": "microwave", "wtr": "water", "htr": "heater",
    "elec": "electric", "el": "electric", "upr": "upright", "frz": "freezer", "d/w": "dishwasher", "o/range": "", "con": "conditioner",
    "dehum": "dehumidifier", "cond": "conditioner", "mach": "machine", "cofee": "coffee", "h00d": "hood",
}  # fmt: skip
_LIKE_ENOUGH = 0.8


def mend_machine(text: str, lexicon: Lexicon) -> str:
    """Write the words of a machine cell as the trade does: short forms written out, misspelt words put right."""
    words = re.findall(r"[\w/'.]+|[^\w\s]", plain(text))
    known = _machine_words(lexicon)
    return " ".join(_mend_word(word, known) for word in words)


def _mend_word(word: str, known: Sequence[str]) -> str:
    bare = word.lower().rstrip(".")
    if bare in _MACHINE_SHORTS:
        return _MACHINE_SHORTS[bare]
    expanded = labels.expand_machine(bare)
    if expanded != bare:
        return expanded
    if len(bare) < 5 or bare in known or bare.rstrip("s") in known:
        return word
    return next(iter(get_close_matches(bare, known, 1, _LIKE_ENOUGH)), word)


def _machine_words(lexicon: Lexicon) -> list[str]:
    names = {*lexicon.machine_phrases.values(), "microwave", "fridge", "conditioner"}
    return sorted({word for name in names for word in name.split() if len(word) >= 5})


def name_machine(text: str, lexicon: Lexicon) -> str | None:
    """The machine that a cell names, the first of several: a hood over a range is a hood."""
    found = lexicon.find_machines(mend_machine(text, lexicon)) or lexicon.find_machines(text)
    return found[0].name if found else None
