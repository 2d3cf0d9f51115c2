"""Hits by keyword and hits by meaning into one ranking."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_K = 60
_STOP = frozenset(
    "a an and are as at be but by can do does for from has have how i if in is it its my no not of on or our out so that "
    "the then there this to up was we what when where which why will with you your it's just keeps".split()
)


def fuse_ranks(rankings: Iterable[Sequence[int]]) -> list[tuple[int, float]]:
    """Fuse rankings of ids, best first, by reciprocal rank: the sum of 1 / (60 + rank).

    Source: Cormack, Clarke & Buettcher 2009, "Reciprocal rank fusion outperforms Condorcet and individual rank learning
    methods", SIGIR.
    """
    scores: dict[int, float] = {}
    for ranking in rankings:
        for rank, one in enumerate(ranking, start=1):
            scores[one] = scores.get(one, 0.0) + 1 / (_K + rank)
    return sorted(scores.items(), key=lambda item: (-item[1], item[0]))


def keyword_query(text: str, also: Sequence[str] = ()) -> str | None:
    """Write an FTS5 query that asks for any of the text's telling words; None where it has none."""
    words = [word for word in re.findall(r"[a-z0-9]+", " ".join([text, *also]).lower().replace("'", ""))]
    telling = dict.fromkeys(word for word in words if word not in _STOP and (len(word) > 1 or word.isdigit()))
    return " OR ".join(f'"{word}"' for word in telling) or None
