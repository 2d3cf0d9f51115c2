"""Private details of customers, taken out before anything reaches the library.

What is looked for: names, telephone numbers, e-mails, addresses, entry codes, passwords, and where a key lies. When in
doubt a word is taken out: a lost word costs a little in search, a leaked one cannot be called back.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from kbindex.reading.private_access import find_codes, find_key_hints
from kbindex.reading.private_contacts import find_emails, find_phones
from kbindex.reading.private_names import find_names, names_told
from kbindex.reading.private_places import find_addresses
from kbindex.reading.private_told_codes import barriers_of, find_told_codes
from kbindex.reading.private_words import has_figures
from kbindex.records import Word

HIDDEN = "[private]"

_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]{0,6}"
_DAY_RE = re.compile(
    rf"(?<![\w/.-])(?:\d{{1,2}}[/.-]\d{{1,2}}[/.-](?:20)?\d\d|20\d\d-\d\d-\d\d|\d{{1,2}}(?:st|nd|rd|th)?[ ]{_MONTH}\b)(?![\w/])",
    re.IGNORECASE,
)
_PLAIN_SIGNS = str.maketrans("\u2019\u2018\u02bc\u2010\u2011\u2012\u2013\u2014\u00a0\u202f\u201c\u201d", "'''-----  \"\"")


def find_private(text: str, known: frozenset[str] = frozenset()) -> list[tuple[int, int]]:
    """Find the (start, end) of private details in a text, in order, apart from each other.

    Args:
        text: A note, a cell of a table, or the words of a recording.
        known: Names in lower case that are told elsewhere.
    """
    if not text.isascii():
        text = text.translate(_PLAIN_SIGNS)
    contacts = [*find_emails(text), *find_phones(text), *find_addresses(text)]
    codes = [*find_codes(text), *find_told_codes(text)] if has_figures(text) else list(find_codes(text))
    spans = [*contacts, *codes, *find_key_hints(text), *find_names(text, [*contacts, *barriers_of(text, codes)], known)]
    joined: list[tuple[int, int]] = []
    days = [match.span() for match in _DAY_RE.finditer(text)]
    for start, end in sorted(_trim(text, *_without_day(span, days)) for span in spans):
        if joined and not text[joined[-1][1] : start].strip(" \t,"):
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        elif start < end:
            joined.append((start, end))
    return joined


def _without_day(span: tuple[int, int], days: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Cut off the beginning of a date that follows a detail: "gate 4417, 3/12/26"."""
    start, end = span
    for first, last in days:
        if start < first < end < last:
            end = first
    return start, end


def _trim(text: str, start: int, end: int) -> tuple[int, int]:
    """Leave spaces and the stop after a detail in the text; a detail starts and ends with a whole word."""
    while end > start and text[end - 1] in " \t\n.,;:":
        end -= 1
    while start < end and text[start] in " \t\n.,;:":
        start += 1
    return start, end


def hide_private(text: str, known: frozenset[str] = frozenset()) -> str:
    """Put a mark in place of each private detail; `known` as in `find_private`."""
    for start, end in reversed(find_private(text, known)):
        text = text[:start] + HIDDEN + text[end:]
    return text


def known_names(cell: str) -> frozenset[str]:
    """The names in a cell that says who the customer is, to be hidden in the other cells of its row, where no cue tells them."""
    return names_told(cell.translate(_PLAIN_SIGNS))


def hide_private_words(words: Sequence[Word]) -> tuple[Word, ...]:
    """Put a mark in place of each word that is part of a private detail; times and the stops after words stay."""
    spans = find_private(" ".join(word.text for word in words))
    hidden: list[Word] = []
    start, place = 0, 0
    for word in words:
        end = start + len(word.text)
        while place < len(spans) and spans[place][1] <= start:
            place += 1
        private = place < len(spans) and spans[place][0] < end
        hidden.append(replace(word, text=_hide_word(word.text)) if private else word)
        start = end + 1
    return tuple(hidden)


def _hide_word(text: str) -> str:
    bare = text.rstrip(".,;:?!\u2026")
    return HIDDEN + text[len(bare) :] if bare else text
