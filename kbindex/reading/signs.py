"""Lexical signs of a sentence: what the trade's words and plain patterns say of it, as figures for the heads."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.amounts import find_job_minutes, find_money, find_reading
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.shares import find_shares
from kbindex.records import Operation, Result, Sentence

if TYPE_CHECKING:
    from numpy.typing import NDArray

TURNS = ("none", *(result.value for result in Result if result is not Result.UNTESTED))
"""What a sentence may tell of how work turned out."""
TAGS = tuple(
    "no_start beeps blinks error_code no_heat overheats no_cool leaks noise no_drain no_fill no_spin wont_stop "
    "trips_breaker smell sparks door_stuck poor_result no_ice vibrates dead".split()
)
"""The symptom tags."""

_OTHERS_RE = re.compile(
    r"\b(?:last (?:guy|tech|fella|bloke|man|lad|company|outfit|repairman)|previous (?:tech|guy|company|repair\w*|engineer|bloke|lad|owner)|"
    r"other (?:guy|tech|company|outfit|shop|fella|engineer|lad)|another (?:guy|tech|company|outfit|shop|fella|engineer|repair\w*|lad|bloke|crew)|"
    r"somebody (?:else )?(?:had|has|already|before|put|changed|replaced|swapped|tried|came)|someone (?:else )?(?:had|has|already|before|put|changed|replaced|swapped|tried|came)|"
    r"(?:cust(?:omer)?|owner|homeowner|landlord|tenant|husband|wife|son|brother|neighbou?r|nephew|handyman|he|she|they|gentleman|lady|fella|dad|maintenance(?: guy| man)?|super)"
    r"(?:'s| has| had|'d| have)? (?:already|even|went and|just|himself|herself|themselves)?\s?(?:tried|replaced|swapped|changed|put|cleaned|fitted|installed|bought|reset|ordered|did|stuck|repl\b|threw)|"
    r"before (?:i|we) (?:came|got|ever)|prior tech|prev tech|prior (?:to us|visit by)|diy|dealer (?:had|already|put)|they'd already|he'd already|she'd already)\b",
    re.IGNORECASE,
)

_FUTURE_RE = re.compile(
    r"\b(?:going to|gonna|gon na|will|i'll|we'll|let's|want to|need to|needs?|should|could|would|might|if|next|plan|order(?:ed)?|quote\w*|recommend\w*)\b",
    re.I,
)
_PAST_RE = re.compile(r"\b\w+ed\b|\b(?:put|went|ran|got|took|did|had|was|were|came|gave|threw|stuck)\b", re.I)
_NEGATION_RE = re.compile(
    r"\b(?:not|no|never|nothing|didn'?t|isn'?t|wasn'?t|won'?t|doesn'?t|don'?t|ain'?t|still|same|nope|without)\b", re.I
)
_CERTAIN_RE = re.compile(
    r"\b(?:because|cause[ds]?|culprit|problem|fault|failed|bad|worn|broken|shorted|burnt|open|dead|reason|that's why|likely|probably|suspect)\b",
    re.I,
)
_MEASURE_RE = re.compile(
    r"\b(?:meter|ohm\w*|check\w*|chk\w*|test\w*|measur\w*|read\w*|look\w*|continuity|voltage|volts?|probe\w*|found|see|seeing|listen)\b",
    re.I,
)
_TALK_RE = re.compile(
    r"\b(?:morning|hello|hi|hey|thanks|thank you|folks|guys|anyway|radio|coffee|lunch|dog|weather|screws?|panel|camera|video)\b",
    re.I,
)
_NOT_RUN_RE = re.compile(
    r"\b(?:(?:have|had|has|did|could|can) ?n[o']t|haven'?t|hasn'?t|didn'?t|couldn'?t|can'?t|never|not|no time to|without) "
    r"(?:yet |even |actually |get to |got to |got round to |been able to |been )*"
    r"(?:seen it (?:fill|run|heat|cool|work|start|drain|spin)|(?:test|run|try|tri)(?:ed|ing)? (?:it|her|him|yet|the (?:machine|repair|cycle|new))|"
    r"tested|been run|run (?:-|,|yet|\.|$))|\b(?:not|un)[\s-]?tested\b|\bno test run\b|\bnot run\b",
    re.IGNORECASE,
)
_PATTERNS = (_OTHERS_RE, _FUTURE_RE, _PAST_RE, _NEGATION_RE, _CERTAIN_RE, _MEASURE_RE, _TALK_RE, _NOT_RUN_RE)
SIGN_COUNT = 15 + len(TURNS) - 1 + len(_PATTERNS) + len(TAGS) + len(Operation)
"""How many signs there are."""


def read_signs(sentences: Sequence[Sentence], lexicon: Lexicon) -> NDArray[np.float32]:
    """Give (sentence_count, SIGN_COUNT) float32, all of them 0 or 1."""
    rows = [_signs(sentence, lexicon) for sentence in sentences]
    return np.array(rows, dtype=np.float32).reshape(len(rows), SIGN_COUNT)


def _signs(sentence: Sentence, lexicon: Lexicon) -> list[bool]:
    text = sentence.text
    results, tags, operations = (
        {said.name for said in patterns.find(text)} for patterns in (lexicon.results, lexicon.symptoms, lexicon.operations)
    )
    shares = find_shares(text)
    is_note = sentence.at.start_s is None
    return [
        bool(operations),
        bool(lexicon.intentions.find(text)),
        bool(lexicon.find_parts(text)),
        bool(tags),
        *(name in results for name in TURNS[1:]),
        bool(find_money(text)),
        any(share.counted for share in shares),
        bool(shares),
        find_reading(text) is not None,
        find_job_minutes(text, is_note) is not None,
        bool(lexicon.hazards.find(text)),
        is_note,
        text.rstrip().endswith("?"),
        *(bool(pattern.search(text)) for pattern in _PATTERNS),
        len(text) < 25,
        len(text) > 110,
        "new " in text.lower(),
        *(tag in tags for tag in TAGS),
        *(operation.value in operations for operation in Operation),
    ]
