"""What each sentence does: its kind, whether it tells of an attempt (which operation, by whom), and of a result.

Linear heads (multinomial logistic regression) look at the sentence's vector, its neighbours' vectors and lexical signs.
They are trained by `python -m eval train`; the weights are shipped beside the trade's words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kbindex.reading.amounts import find_job_minutes, find_money, find_reading
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.shares import find_shares
from kbindex.records import By, Kind, Operation, Result, Sentence

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

HEADS: Mapping[str, tuple[str, ...]] = {
    "kind": tuple(kind.value for kind in Kind),
    "attempt": ("no", "yes"),
    "turn": ("none", *(result.value for result in Result if result is not Result.UNTESTED)),
    "operation": tuple(operation.value for operation in Operation),
    "by": tuple(by.value for by in By),
    "tag": tuple(
        "no_start beeps blinks error_code no_heat overheats no_cool leaks noise no_drain no_fill no_spin wont_stop "
        "trips_breaker smell sparks door_stuck poor_result no_ice vibrates dead".split()
    ),
}
"""Name of each head -> its classes. `turn` is the result that a sentence tells, `by` and `operation` speak of attempts, `tag` of complaints."""

OTHERS_RE = re.compile(
    r"\b(?:last (?:guy|tech|fella|bloke|man|lad|company|outfit|repairman)|previous (?:tech|guy|company|repair\w*|engineer|bloke|lad|owner)|"
    r"other (?:guy|tech|company|outfit|shop|fella|engineer|lad)|another (?:guy|tech|company|outfit|shop|fella|engineer|repair\w*|lad|bloke|crew)|"
    r"somebody (?:else )?(?:had|has|already|before|put|changed|replaced|swapped|tried|came)|someone (?:else )?(?:had|has|already|before|put|changed|replaced|swapped|tried|came)|"
    r"(?:cust(?:omer)?|owner|homeowner|landlord|tenant|husband|wife|son|brother|neighbou?r|nephew|handyman|he|she|they|gentleman|lady|fella|dad|maintenance(?: guy| man)?|super)"
    r"(?:'s| has| had|'d| have)? (?:already|even|went and|just|himself|herself|themselves)?\s?(?:tried|replaced|swapped|changed|put|cleaned|fitted|installed|bought|reset|ordered|did|stuck|repl\b|threw)|"
    r"before (?:i|we) (?:came|got|ever)|prior tech|prev tech|prior (?:to us|visit by)|diy|dealer (?:had|already|put)|they'd already|he'd already|she'd already)\b",
    re.IGNORECASE,
)
"""Cues that somebody other than the shop did the work."""

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


@dataclass(frozen=True)
class Heads:
    """For each of `HEADS` its weights, (feature_count, class_count), and bias, (class_count,), both float32."""

    weights: Mapping[str, Matrix]
    bias: Mapping[str, Matrix]


@dataclass(frozen=True)
class Judged:
    """What a sentence is judged to be: for each head the chances of its classes."""

    chances: Mapping[str, Mapping[str, float]]

    @property
    def kind(self) -> Kind:
        """The likeliest kind."""
        return Kind(max(self.chances["kind"], key=self.chances["kind"].__getitem__))

    @property
    def attempt(self) -> float:
        """The chance that an attempt is told."""
        return self.chances["attempt"]["yes"]

    @property
    def by_other(self) -> float:
        """The chance that an attempt told here was somebody else's."""
        return self.chances["by"][By.OTHER.value]

    @property
    def operation(self) -> Operation:
        """The likeliest operation of an attempt told here."""
        return Operation(max(self.chances["operation"], key=self.chances["operation"].__getitem__))

    @property
    def tag(self) -> tuple[str, float]:
        """The likeliest symptom of a complaint told here, and its chance."""
        name = max(self.chances["tag"], key=self.chances["tag"].__getitem__)
        return name, self.chances["tag"][name]

    def turn(self, result: Result) -> float:
        """The chance that this result is told."""
        return self.chances["turn"][result.value]


def judge(sentences: Sequence[Sentence], vectors: Matrix, heads: Heads, lexicon: Lexicon) -> list[Judged]:
    """Judge each sentence of one document, in order; `vectors` is (sentence_count, dim), rows of length 1."""
    if not sentences:
        return []
    features = make_features(sentences, vectors, lexicon)
    rows = {name: _softmax(features @ heads.weights[name] + heads.bias[name]) for name in HEADS}
    return [
        Judged({name: dict(zip(HEADS[name], map(float, rows[name][place]), strict=True)) for name in HEADS})
        for place in range(len(sentences))
    ]


def make_features(sentences: Sequence[Sentence], vectors: Matrix, lexicon: Lexicon) -> Matrix:
    """Give (sentence_count, 3 * dim + lexical) float32: before, own and after vectors, then own and neighbours' signs."""
    signs = np.array([_signs(sentence, lexicon) for sentence in sentences], dtype=np.float32)
    count = len(sentences)
    acted = np.minimum(np.cumsum(signs[:, 0]) - signs[:, 0], 3)[:, None] / 3
    place = (np.arange(count, dtype=np.float32) / max(count - 1, 1))[:, None]
    parts = [
        _shifted(vectors, 1) * 0.5,
        vectors,
        _shifted(vectors, -1) * 0.5,
        signs,
        _shifted(signs, 1),
        _shifted(signs, -1),
        acted,
        place,
    ]
    return np.concatenate(parts, axis=1).astype(np.float32)


def _shifted(rows: Matrix, by: int) -> Matrix:
    moved = np.zeros_like(rows)
    if by > 0:
        moved[by:] = rows[:-by]
    else:
        moved[:by] = rows[-by:]
    return moved


def _signs(sentence: Sentence, lexicon: Lexicon) -> list[float]:
    text = sentence.text
    results = {said.name for said in lexicon.results.find(text)}
    is_note = sentence.at.start_s is None
    signs = [
        bool(lexicon.operations.find(text)),
        bool(lexicon.intentions.find(text)),
        bool(lexicon.find_parts(text)),
        bool(lexicon.symptoms.find(text)),
        *(name in results for name in HEADS["turn"][1:]),
        bool(find_money(text)),
        any(share.counted for share in find_shares(text)),
        bool(find_shares(text)),
        find_reading(text) is not None,
        find_job_minutes(text, is_note) is not None,
        bool(lexicon.hazards.find(text)),
        is_note,
        text.rstrip().endswith("?"),
        bool(OTHERS_RE.search(text)),
        *(bool(p.search(text)) for p in (_FUTURE_RE, _PAST_RE, _NEGATION_RE, _CERTAIN_RE, _MEASURE_RE, _TALK_RE)),
        len(text) < 25,
        len(text) > 110,
        "new " in text.lower(),
    ]
    return [float(sign) for sign in signs]


def _softmax(scores: Matrix) -> Matrix:
    shifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    return np.asarray(shifted / shifted.sum(axis=1, keepdims=True), dtype=np.float32)
