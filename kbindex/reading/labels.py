"""What identifies a job: its number, its date, the machine, and the earlier job that it returns to."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import date

from kbindex.reading.lexicon import Lexicon, plain
from kbindex.reading.numbers import read_identifier, value_of

_SPOKEN_NUMBER = (
    r"(?:\d[\d\s-]{1,7}\d|(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|"
    r"sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|[\s-])+)"
)
_JOB_WORD = r"(?:job|ticket|work\s?order|call|w\.?o\.?|order|docket|ref|case|invoice)"
_JOB_NO_RE = re.compile(
    rf"\b{_JOB_WORD}\s*(?:number|num|no\.?|nr\.?|#|is|sheet|slip|card|:)*\s*[#:]?\s*(?P<no>{_SPOKEN_NUMBER})",
    re.IGNORECASE,
)
_HASH_RE = re.compile(r"(?<!\w)#\s?(?P<no>[A-Za-z]?\d{3,6})\b")
_LETTERED_RE = re.compile(rf"\b{_JOB_WORD}\s*(?:number|no\.?|#|is|:)*\s*#?\s*(?P<no>[a-z][\s-]?\d{{2,5}})\b", re.IGNORECASE)
_NUMBER_WORD_RE = re.compile(rf"\b(?:number|num\.?|no\.)\s*(?P<no>{_SPOKEN_NUMBER})", re.IGNORECASE)
_LEADING_RE = re.compile(
    r"^\W*(?P<no>[A-Z]\d{3,5}|\d{3,6})(?=[\s.,:;/)-]|$)(?!-\d\d)(?!\s*(?:v|volts?|ohms?|psi|deg\w*|min|hrs?|hours?|cycles?|w|watts?)\b)",
    re.IGNORECASE,
)
_FILE_NO_RE = re.compile(
    r"(?:job|ticket|wo|no|j|#)[\s_-]?(?P<no>\d{3,6})(?!\d)|^(?P<lettered>[a-z]\d{3,5})(?=[\s_.-]|$)", re.IGNORECASE
)
_FILE_BARE_RE = re.compile(r"(?:^|[\s_-])(?P<no>\d{4})(?=[\s_.-]|$)")
_RETURN_RE = re.compile(
    r"\b(?:call\s?-?back|callback|c/?b|recall|return(?:ing)?(?: visit| trip| call)?|back (?:on|at|to|for|out)|went back|came back|"
    r"same (?:complaint|machine|unit|one|house|customer|fault) as|follow(?:s|ing)?(?:[\s-]?up)?|re-?visit|warranty|again|rework|"
    r"did (?:on|under)|earlier (?:job|ticket)|prev(?:ious)? (?:job|ticket)|original(?:ly)? (?:job|ticket)?|we (?:were|did|fixed|had)|see|from|after|redo|re-?do)\b",
    re.IGNORECASE,
)

_SPOKEN_YEAR_RE = re.compile(
    r"\btwenty[\s-]+(?:twenty[\s-]*)?(?P<units>one|two|three|four|five|six|seven|eight|nine)\b", re.IGNORECASE
)
_MONTHS = {
    name: number
    for number, name in enumerate(["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"], start=1)
}
_MONTH = r"(?P<month>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\.?"
_ISO_RE = re.compile(r"(?<!\d)(?P<year>20\d\d)[-_./]?(?P<month>\d\d)[-_./]?(?P<day>\d\d)(?!\d)")
_SLASH_RE = re.compile(r"(?<![\d/])(?P<one>\d{1,2})[/.-](?P<two>\d{1,2})[/.-](?P<year>20\d\d|\d\d)(?![\d/])")
_NAMED_RE = re.compile(
    rf"\b(?:{_MONTH}\s+(?P<day>\d{{1,2}})(?:st|nd|rd|th)?(?:,?\s+(?P<year>20\d\d))?|"
    rf"(?P<day2>\d{{1,2}})(?:st|nd|rd|th)?\s+(?:of\s+)?{_MONTH.replace('month', 'month2')}(?:,?\s+(?P<year2>20\d\d))?)\b",
    re.IGNORECASE,
)


def find_job_numbers(text: str) -> list[tuple[str, int]]:
    """Find the job numbers of a text with their places; three to six figures each, or a letter and figures."""
    text = plain(text)
    found: list[tuple[str, int]] = []
    for match in _LETTERED_RE.finditer(text):
        found.append((re.sub(r"[\s-]", "", match.group("no")).upper(), match.start()))
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
    """Read a bare number that opens a note ("7101 / bakery on the corner"), as shops write their job numbers."""
    match = _LEADING_RE.search(text)
    return match.group("no") if match and not _is_year(match.group("no")) else None


def _as_number(words: str) -> str | None:
    words = words.strip()
    return words.upper() if re.fullmatch(r"[A-Za-z]\d+", words) else read_identifier(words)


def _is_year(figures: str) -> bool:
    return figures.isdigit() and 1990 <= int(figures) <= 2035


def split_own_and_earlier(texts: Sequence[str], file_number: str | None) -> tuple[str | None, str | None]:
    """Tell the document's own job number from that of the earlier job which it returns to."""
    own, earlier = file_number or next((opening for text in texts[:3] if (opening := find_leading_number(text))), None), None
    for text in texts:
        for number, start in find_job_numbers(text):
            if number == own:
                continue
            lead = text[max(0, start - 60) : start]
            if _RETURN_RE.search(lead) or (own is not None and _RETURN_RE.search(text)):
                earlier = earlier or number
            elif own is None:
                own = number
    return own, earlier


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
    text = _SPOKEN_YEAR_RE.sub(lambda match: f"202{value_of(match.group('units')) or 0:.0f}", text)
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
        year_text, day_text = parts.get("year2") or parts.get("year"), parts.get("day2") or parts.get("day")
        if not month_name or not year_text or not day_text:
            return None
        month = int(month_name) if month_name.isdigit() else _MONTHS[month_name[:3].lower()]
        return date(int(year_text), month, int(day_text))
    except ValueError:
        return None


def choose_appliance(texts: Sequence[str], path: str, lexicon: Lexicon) -> str | None:
    """The machine that a document is about: the one named most, the earlier of equals; the file's name counts as well."""
    votes: Counter[str] = Counter()
    for place, text in enumerate([re.sub(r"[_/.-]", " ", path), *texts]):
        for said in lexicon.find_machines(text):
            votes[said.name] += 3 if place == 0 else 2 if place <= 6 else 1
    return votes.most_common(1)[0][0] if votes else None
