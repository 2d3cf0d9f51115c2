"""What identifies a job: its number, its date, the machine, and the earlier job that it returns to."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import date

from kbindex.reading.lexicon import Lexicon, plain
from kbindex.reading.numbers import read_identifier, value_of

_DIGIT_WORD = (
    r"(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|"
    r"eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred)\b"
)
_SPOKEN_NUMBER = rf"(?:\d[\d\s-]{{1,7}}\d|{_DIGIT_WORD}(?:[\s,-]+{_DIGIT_WORD}){{0,4}})"
_JOB_WORD = r"(?:job|ticket|work\s?order|call|w\.?o\.?|order|docket|ref|case|invoice)"
_JOB_NO_RE = re.compile(
    rf"\b{_JOB_WORD}\s*(?:number|num|no\.?|nr\.?|#|is|sheet|slip|card|:)*\s*[#:]?\s*(?P<no>{_SPOKEN_NUMBER})",
    re.IGNORECASE,
)
_HASH_RE = re.compile(r"(?<!\w)#\s?(?P<no>[A-Za-z]?\d{3,6})\b")
_SPOKEN_LETTER_RE = re.compile(
    rf"\b(?:{_JOB_WORD}\s*(?:number|no\.?|is)*|today|here)\s*(?P<letter>[a-z])[\s-]+(?P<no>{_DIGIT_WORD}(?:[\s-]+{_DIGIT_WORD}){{1,3}})",
    re.IGNORECASE,
)
_SPOKEN_OPENING_RE = re.compile(
    rf"^\W*(?:(?:okay|ok|right|alright|hello|hey|so|this is|here is|it'?s|number|job|ticket)\W+){{0,3}}(?P<no>{_DIGIT_WORD}(?:[\s-]+{_DIGIT_WORD}){{1,3}})(?=\W|$)",
    re.IGNORECASE,
)
_TOLD_RE = re.compile(
    r"\b(?:(?:this is|this'?ll be|here is|here'?s|we are on|we'?re on|i'?m on)\s+(?P<no>\d{4,6})|it'?s\s+(?P<long>\d{5}))\b"
    r"(?!\s*(?:v\b|volts?|ohms?|psi|deg|min|hrs?|hours?|cycles?|w\b|watts?|rpm|microfarad|[a-z]+ (?:street|road|lane|avenue)))",
    re.IGNORECASE,
)
_OPENING_SENTENCES = 6
_LETTERED_RE = re.compile(rf"\b{_JOB_WORD}\s*(?:number|no\.?|#|is|:)*\s*#?\s*(?P<no>[a-z][\s-]?\d{{2,5}})\b", re.IGNORECASE)
_NUMBER_WORD_RE = re.compile(rf"\b(?:number|num\.?|no\.)\s*(?P<no>{_SPOKEN_NUMBER})", re.IGNORECASE)
_LEADING_RE = re.compile(
    r"^\W*(?P<no>[A-Z]\d{3,5}|\d{3,6})(?=[\s.,:;/)-]|$)(?!-\d\d)(?!\s*(?:v|volts?|ohms?|psi|deg\w*|min|hrs?|hours?|cycles?|w|watts?)\b)",
    re.IGNORECASE,
)
_FILE_NO_RE = re.compile(
    r"(?:job|ticket|wo|no|j|#)[\s_-]?(?P<no>\d{3,6})(?!\d)|^(?P<lettered>[a-z]\d{3,5})(?=[\s_.-]|$)", re.IGNORECASE
)
_FILE_BARE_RE = re.compile(r"(?:^|[\s_-])(?P<no>[1-9]\d{3})(?=[\s_.-]|$)")
_BARE_EARLIER_RE = re.compile(
    r"\b(?:call\s?-?back|c/b|recall|redo|re-?do|return(?:ing)?(?: visit| trip| call)?|same (?:machine|unit|one|fault|complaint)|went back|warranty)\b"
    r"[^.;]{0,14}?\b(?:see|on|of|for|from|to|as|re|after|orig\w*|was)?[\s:#]*(?P<no>\d{4,6})\b(?![/.-]\d)",
    re.IGNORECASE,
)
_RETURN_RE = re.compile(
    r"\b(?:call\s?-?back|callback|c/?b|recall|return(?:ing)?(?: visit| trip| call)?|back (?:on|at|to|for|out)|went back|came back|"
    r"same (?:complaint|machine|unit|one|house|customer|fault) as|follow(?:s|ing)?(?:[\s-]?up)?|re-?visit|warranty|again|rework|"
    r"did (?:on|under)|earlier (?:job|ticket)|prev(?:ious)? (?:job|ticket)|original(?:ly)? (?:job|ticket)?|we (?:were|did|fixed|had)|see|from|after|redo|re-?do)\b",
    re.IGNORECASE,
)

_ONES = "one|two|three|four|five|six|seven|eight|nine"
_SPOKEN_YEAR_RE = re.compile(rf"\b(?:two thousand(?: and)?|twenty)[\s-]+(?:twenty[\s-]*)?(?P<units>{_ONES})\b", re.IGNORECASE)
_ORDINALS = {
    word: number
    for number, word in enumerate(
        "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth "
        "seventeenth eighteenth nineteenth twentieth twenty-first twenty-second twenty-third twenty-fourth twenty-fifth twenty-sixth "
        "twenty-seventh twenty-eighth twenty-ninth thirtieth thirty-first".split(),
        start=1,
    )
}
_ORDINAL_RE = re.compile(
    rf"\b(?:{'|'.join(sorted((word.replace('-', '[ -]') for word in _ORDINALS), key=len, reverse=True))})\b", re.IGNORECASE
)
_MONTHS = {
    name: number
    for number, name in enumerate(["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"], start=1)
}
_MONTH = r"(?P<month>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\.?"
_ISO_RE = re.compile(
    r"(?<!\d)(?P<year>20\d\d)(?:[-_./]?(?P<month>\d\d)[-_./]?(?P<day>\d\d)|[-/.](?P<month2>\d{1,2})[-/.](?P<day2>\d{1,2}))(?!\d)"
)
_SLASH_RE = re.compile(r"(?<![\d/])(?P<one>\d{1,2})[/.-](?P<two>\d{1,2})[/.-](?P<year>20\d\d|\d\d)(?![\d/])")
_SHORT_YEAR = r"[23]\d(?!\s*(?:%|min|deg|x\b|\d))"
_NAMED_RE = re.compile(
    rf"\b(?:{_MONTH}\s+(?:the\s+)?(?P<day>\d{{1,2}})(?:st|nd|rd|th)?(?:(?:,?\s+(?P<year>20\d\d))|,?\s+'(?P<short>\d\d))?|"
    rf"(?P<day2>\d{{1,2}})(?:st|nd|rd|th)?(?:\s+(?:of\s+)?|-){_MONTH.replace('month', 'month2')}(?:(?:,?\s+'?|-)(?P<year2>20\d\d|{_SHORT_YEAR}))?)\b",
    re.IGNORECASE,
)


def find_job_numbers(text: str) -> list[tuple[str, int]]:
    """Find the job numbers of a text with their places; three to six figures each, or a letter and figures."""
    text = plain(text)
    found: list[tuple[str, int]] = []
    for match in _LETTERED_RE.finditer(text):
        found.append((re.sub(r"[\s-]", "", match.group("no")).upper(), match.start()))
    for match in _SPOKEN_LETTER_RE.finditer(text):
        figures = read_identifier(match.group("no"))
        if figures and 2 <= len(figures) <= 4:
            found.append((match.group("letter").upper() + figures, match.start()))
    for pattern in (_JOB_NO_RE, _HASH_RE):
        for match in pattern.finditer(text):
            number = _as_number(match.group("no"))
            if number and 3 <= len(number) <= 6:
                found.append((number, match.start()))
    for match in _NUMBER_WORD_RE.finditer(text):
        number = _as_number(match.group("no"))
        if number and len(number) == 4 and all(abs(match.start() - start) > 12 for _, start in found):
            found.append((number, match.start()))
    return sorted(found, key=lambda item: item[1])


def find_leading_number(text: str) -> str | None:
    """Read a bare number that opens a note or recording ("7101 / bakery", "eight eighty seven, gas range")."""
    match = _LEADING_RE.search(text)
    spoken = _SPOKEN_OPENING_RE.match(text) if not match else None
    if spoken:
        figures = read_identifier(spoken.group("no"))
        return figures if figures and 3 <= len(figures) <= 4 and not _is_year(figures) else None
    return match.group("no") if match and not _is_year(match.group("no")) else None


def _as_number(words: str) -> str | None:
    words = words.strip()
    return words.upper() if re.fullmatch(r"[A-Za-z]\d+", words) else read_identifier(words)


def _is_year(figures: str) -> bool:
    return figures.isdigit() and 1990 <= int(figures) <= 2035


def split_own_and_earlier(texts: Sequence[str], file_number: str | None) -> tuple[str | None, str | None]:
    """Tell the document's own job number from that of the earlier job which it returns to."""
    own = file_number or next((opening for text in texts[:3] if (opening := find_leading_number(text))), None)
    earlier: str | None = None
    for text in texts:
        for number, start in find_job_numbers(text):
            if number == own:
                continue
            lead = text[max(0, start - 60) : start]
            if _RETURN_RE.search(lead) or (own is not None and _RETURN_RE.search(text)):
                earlier = earlier or number
            elif own is None:
                own = number
        bare = _BARE_EARLIER_RE.search(text)
        if bare and earlier is None and bare.group("no") != own and not _is_year(bare.group("no")):
            earlier = bare.group("no")
    return own or _told_number(texts, earlier), earlier


def _told_number(texts: Sequence[str], earlier: str | None) -> str | None:
    """ "So this is 30427": a number said at the beginning without a word for what it is."""
    for text in texts[:_OPENING_SENTENCES]:
        if match := _TOLD_RE.search(text):
            number = match.group("no") or match.group("long")
            if number != earlier and not _is_year(number):
                return number
    return None


def file_job_number(path: str) -> str | None:
    """Read a job number from a file's name ("2026-03-02_job2057_dishwasher")."""
    stem = path.rsplit("/", 1)[-1].rsplit(".", 1)[0]
    match = _FILE_NO_RE.search(stem)
    if match:
        return match.group("no") or match.group("lettered").upper()
    undated = _ISO_RE.sub(" ", stem)
    bare = [m.group("no") for m in _FILE_BARE_RE.finditer(undated) if not _is_year(m.group("no"))]
    prefixed = re.match(r"(?:img|vid|mvi|dsc|pxl|gopr|mov|clip|video|rec)[\s_-]?\d", stem, re.IGNORECASE)
    return bare[0] if bare and not prefixed else None


def find_date(text: str, day_first: bool) -> str | None:
    """Read the first full date of a text as ISO 8601; 3/4/2026 by the shop's setting."""
    text = _SPOKEN_YEAR_RE.sub(lambda match: f"202{value_of(match.group('units')) or 0:.0f}", plain(text))
    text = _ORDINAL_RE.sub(lambda match: str(_ORDINALS[match.group().lower().replace(" ", "-")]), text)
    for pattern in (_ISO_RE, _SLASH_RE, _NAMED_RE):
        for match in pattern.finditer(text):
            found = _as_date(match.groupdict(), day_first)
            if found:
                return found.isoformat()
    return None


def _as_date(parts: dict[str, str | None], day_first: bool) -> date | None:
    try:
        if parts.get("one"):
            one, two, year = (int(str(parts[name])) for name in ("one", "two", "year"))
            month, day = (two, one) if (day_first and two <= 12) or one > 12 else (one, two)
            return date(year + 2000 if year < 100 else year, month, day)
        month_name = parts.get("month2") or parts.get("month")
        year_text = parts.get("year2") or parts.get("year") or parts.get("short")
        day_text = parts.get("day2") or parts.get("day")
        if not month_name or not year_text or not day_text:
            return None
        month = int(month_name) if month_name.isdigit() else _MONTHS[month_name[:3].lower()]
        return date(int(year_text) % 100 + 2000, month, int(day_text))
    except ValueError:
        return None


_TITLE_SHORTS = {
    "dry": "dryer", "dryr": "dryer", "rf": "refrigerator", "ref": "refrigerator", "f/freezer": "refrigerator", "fz": "freezer", "frz": "freezer",
    "fl": "washer", "tl": "washer", "wshr": "washer", "ac": "room air conditioner", "a/c": "room air conditioner", "cmpctr": "trash compactor",
    "m.w.": "microwave", "vac": "vacuum", "wh": "water heater", "hws": "water heater", "dspsr": "disposer", "chimney": "range hood",
    "rng": "range", "wm": "washer", "w/m": "washer", "dw": "dishwasher", "d/w": "dishwasher", "mw": "microwave", "fridg": "refrigerator",
}  # fmt: skip
"""Short names of machines that mean something else, or nothing, outside the heading of a note."""


_COMPARTMENTS = (("freezer", "refrigerator"), ("ice maker", "refrigerator"), ("oven", "range"), ("cooktop", "range"))
"""A name -> the machine that it is only a part of, where that was named first."""


def choose_appliance(texts: Sequence[str], path: str, lexicon: Lexicon) -> str | None:
    """The machine that a document is about: the one named most, the earlier of equals; the file's name counts as well.

    What the heading of a note names first counts more than what is named later.
    """
    votes: Counter[str] = Counter()
    for place, text in enumerate([re.sub(r"[_/.-]", " ", path), *texts]):
        said = lexicon.find_machines(text.replace("/", " / ") if place <= 2 else text)
        heads = place == 1 and find_leading_number(text) is not None
        if heads and not said:
            votes.update({_TITLE_SHORTS[word]: 4 for word in _title_words(text) if word in _TITLE_SHORTS})
        for number, one in enumerate(said):
            votes[one.name] += 3 if place == 0 else 5 if heads and number == 0 else 2 if place <= 6 else 1
    order = list(votes)
    for part, whole in _COMPARTMENTS:
        if part in votes and whole in votes and order.index(whole) < order.index(part):
            votes[whole] += votes.pop(part)
    return votes.most_common(1)[0][0] if votes else None


def expand_machine(text: str) -> str:
    """Write the short names of machines in a heading or a cell out ("DRY" is a dryer, "RF" a refrigerator)."""
    return " ".join(_TITLE_SHORTS.get(word.lower().rstrip(",:;"), word) for word in text.split())


def _title_words(text: str) -> list[str]:
    return [word.rstrip(",:;") for word in text.lower().split()]
