"""What a text must hold for a pattern to match; Python's own `re` is the judge."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbindex.reading.lexicon import Lexicon, PhrasePatterns, load_lexicon
from kbindex.reading.needed_words import find_needed

SENTENCES = (
    "Same thing, it won't start and all the lights blink.",
    "New latch in, no chg. bd swap -> OK, ran cycle, 2x",
    "there she goes, hundred and fifty at the outlet, not a drop on the floor",
    "E24 IS BACK, PUMP HUMS, TRIPS THE BREAKER",
    "so i cleaned the coils and reseated the plug and reset it at the breaker",
)


@pytest.mark.parametrize(
    ("pattern", "needed"),
    [
        (r"\bwon'?t start\b", {"t start"}),
        (r"\b(?:beeps?|chirps?)\b", {"beep", "chirp"}),
        (r"(?:no )?water(?! heater)", {"water"}),
        (r"(?>hum)+ing", {"hum"}),
        (r"(?:leak|\d+ drops)", {"leak", " drops"}),
    ],
)
def test_letters_that_a_pattern_needs(pattern: str, needed: set[str]) -> None:
    assert find_needed(pattern) == needed


@pytest.mark.parametrize("pattern", [r"\d+", r"(?:leaks)?", r"(?:leaks|\d)", r"[ab][cd]"])
def test_where_nothing_can_be_said(pattern: str) -> None:
    assert find_needed(pattern) is None


def _all_of(lexicon: Lexicon) -> list[PhrasePatterns]:
    return [lexicon.symptoms, lexicon.operations, lexicon.intentions, lexicon.results, lexicon.hazards]


@pytest.mark.parametrize("text", SENTENCES)
def test_no_pattern_of_the_trade_is_skipped_where_it_matches(text: str) -> None:
    matched = 0
    for patterns in _all_of(load_lexicon()):
        for pattern in (one for says in patterns.says.values() for one in says):
            if re.search(pattern, text, re.IGNORECASE):
                matched += 1
                needed = find_needed(pattern)
                assert needed is None or any(letters in text.lower() for letters in needed), pattern
    assert matched


@given(st.text("abc ", max_size=12), st.sampled_from([r"(?:ab|ca)+c?", r"a(?:bbc?|cc )b*", r"(?=ab)abc?", r"\bca(?:a b|b)|ba"]))
def test_what_matches_holds_the_letters(text: str, pattern: str) -> None:
    needed = find_needed(pattern)
    assert needed
    if re.search(pattern, text):
        assert any(letters in text for letters in needed)
