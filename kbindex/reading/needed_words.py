"""What letters a text must hold for a pattern to match it, so that hundreds of patterns need not be tried on every sentence.

The pattern is taken apart by Python's own parser of regular expressions. An answer may be too generous, never too strict:
a pattern is skipped only where no text without the letters can match.
"""

from __future__ import annotations

import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable
from typing import Any

_SHORTEST = 2
"""Single letters are in nearly every text: they say nothing."""


def find_needed(pattern: str) -> frozenset[str] | None:
    """Give lower-case strings of which a text must hold at least one, case aside; None where nothing can be said."""
    return _needed(parser.parse(pattern))


def _needed(items: Iterable[Any]) -> frozenset[str] | None:
    """The best answer of a sequence: that of the part whose shortest string is longest."""
    found: list[frozenset[str]] = []
    run = ""
    for code, value in items:
        if code is codes.LITERAL:
            run += chr(value).lower()
            continue
        found += [frozenset({run})] if len(run) >= _SHORTEST else []
        run = ""
        inner = _inside(code, value)
        found += [inner] if inner else []
    found += [frozenset({run})] if len(run) >= _SHORTEST else []
    return max(found, key=lambda one: (min(map(len, one)), -len(one)), default=None)


def _inside(code: Any, value: Any) -> frozenset[str] | None:
    if code is codes.SUBPATTERN:
        return _needed(value[3])
    if code is codes.ATOMIC_GROUP:
        return _needed(value)
    if code in (codes.MAX_REPEAT, codes.MIN_REPEAT, codes.POSSESSIVE_REPEAT):
        return _needed(value[2]) if value[0] >= 1 else None
    if code is codes.BRANCH:
        each = [_needed(branch) for branch in value[1]]
        known = [one for one in each if one is not None]
        return frozenset().union(*known) if len(known) == len(each) else None
    return None
