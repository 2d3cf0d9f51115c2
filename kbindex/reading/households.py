"""Marks of a household, by which a machine is known again at the same customer without keeping who the customer is.

A mark is 12 bits of a hash of a surname: some thousand names share each of them, so that a mark cannot be turned back into
a name. It says something only together with the machine and the complaint.
"""

from __future__ import annotations

import hashlib
import re

from kbindex.reading.private_contacts import find_emails, find_phones
from kbindex.reading.private_names import find_names
from kbindex.reading.private_places import find_addresses

_BITS = 12
_SHORTEST = 3


def mark_households(text: str) -> tuple[int, ...]:
    """Mark the surnames in a text, each once, in rising order; none where no customer is named."""
    contacts = [*find_emails(text), *find_phones(text), *find_addresses(text)]
    marks = set()
    for start, end in find_names(text, contacts):
        words = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)*", re.sub(r"['’]s?\b", "", text[start:end].lower()))
        if words and len(words[-1]) >= _SHORTEST:
            marks.add(_mark(words[-1]))
    return tuple(sorted(marks))


def _mark(surname: str) -> int:
    """The Petersons and Mrs. Peterson are one household."""
    bare = surname[:-1] if surname.endswith("s") and not surname.endswith("ss") else surname
    return int.from_bytes(hashlib.sha256(bare.encode()).digest()[:4], "big") % (1 << _BITS)
