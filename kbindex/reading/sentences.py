"""Words and notes into sentences with their places.

Punctuated speech is cut at its full stops. Raw captions have none, and recognisers forget them for whole stretches: those
are cut where the boundary head hears a sentence end, helped by the silence between words. Notes are cut at line ends, and
in a line where their own boundary head sees the end of a thought: shorthand puts several between two commas.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from kbindex.reading.lexicon import Lexicon
from kbindex.reading.numbers import value_of
from kbindex.records import At, Note, Recording, Sentence, Word

_LONG_PAUSE_S = 2.0
_TOO_MANY_WORDS = 45
"""A sentence that runs on for longer was not punctuated."""
_FEW_STOPS = 40
"""With fewer than one stop in so many words, speech counts as captions without punctuation."""
_PAUSE_WEIGHT, _LONGEST_COUNTED_S = 3.0, 1.0
"""What a second of silence adds to the score of a sentence end; longer ones say no more."""
_ABBREVIATIONS = frozenset("mr. mrs. ms. dr. st. no. approx. vs. e.g. i.e. etc. min. hr. in. ft. deg. temp. jr. dept.".split())

_LIKELY_END = -1.0
"""Score from which a sentence ends: a cut too many costs less than two thoughts in one sentence."""

ScoreEnds = Callable[[Sequence[str]], Sequence[float]]
"""For each word the score (log odds) of a sentence ending after it."""


def cut_speech(recording: Recording, lexicon: Lexicon, score_ends: ScoreEnds) -> list[Sentence]:
    """Cut a recording's words into sentences; none for a recording without words."""
    words = recording.words
    stops = sum(_ends_sentence(word.text) for word in words)
    if stops * _FEW_STOPS < len(words):
        return [_spoken_sentence(recording.path, group, lexicon.mend_by_sound) for group in _cut_raw(words, score_ends)]
    groups = _cut_long(_cut_at_stops(words), score_ends)
    return [_spoken_sentence(recording.path, group, lexicon.mend) for group in groups if group]


def _spoken_sentence(path: str, words: Sequence[Word], mend: Callable[[str], str]) -> Sentence:
    heard = " ".join(word.text for word in words)
    at = At(path, None, round(words[0].start_s, 2), round(words[-1].end_s, 2))
    return Sentence(mend(heard), heard, at)


def _ends_sentence(text: str) -> bool:
    bare = text.rstrip("\"')]").lower()
    return bare.endswith((".", "?", "!", "…")) and bare not in _ABBREVIATIONS and not re.fullmatch(r"[a-z]\.", bare)


def _cut_at_stops(words: Sequence[Word]) -> list[list[Word]]:
    groups: list[list[Word]] = [[]]
    for place, word in enumerate(words):
        groups[-1].append(word)
        following = words[place + 1] if place + 1 < len(words) else None
        pause_s = following.start_s - word.end_s if following else 0.0
        if _ends_sentence(word.text) or (pause_s > _LONG_PAUSE_S and not word.text.endswith(",")):
            groups.append([])
    return groups


def _cut_long(groups: Sequence[list[Word]], score_ends: ScoreEnds) -> list[list[Word]]:
    return [part for group in groups for part in (_cut_raw(group, score_ends) if len(group) > _TOO_MANY_WORDS else [group])]


def _cut_raw(words: Sequence[Word], score_ends: ScoreEnds) -> list[list[Word]]:
    """Cut where the words and the silence after them together say that a sentence ends."""
    if not words:
        return []
    bare = [bare_word(word.text) for word in words]
    scores = list(score_ends([word or "-" for word in bare]))
    for place in range(len(words) - 1):
        scores[place] += _PAUSE_WEIGHT * min(words[place + 1].start_s - words[place].end_s, _LONGEST_COUNTED_S)
        scores[place] = -9.0 if _runs_on(bare[place], bare[place + 1], bare[min(place + 2, len(bare) - 1)]) else scores[place]
    return _cut_at(words, scores)


def _cut_at(words: Sequence[Word], scores: Sequence[float]) -> list[list[Word]]:
    """Cut after every word that is likely to end a sentence; what is too long even so, after its best word inside."""
    groups: list[list[Word]] = []
    start = 0
    while start < len(words):
        end = next((place for place in range(start, len(words)) if scores[place] > _LIKELY_END), len(words) - 1)
        if end - start >= _TOO_MANY_WORDS:
            end = max(range(start + 5, start + _TOO_MANY_WORDS - 5), key=lambda place: scores[place])
        groups.append(list(words[start : end + 1]))
        start = end + 1
    return groups


def bare_word(text: str) -> str:
    """A word as captions without punctuation write it."""
    return re.sub(r"[.,!?;:]+$|[\"()…—–]", "", text.lower().replace("’", "'"))


_SHARE_ENDS = frozenset("percent cent time times ten five".split())


def _runs_on(before: str, word: str, following: str) -> bool:
    """Whether a thought goes on here: within a number, or from a share to what it is the share of."""
    within_number = word == "and" and value_of(before) is not None and value_of(following) is not None
    return within_number or (before in _SHARE_ENDS and word in ("it's", "its", "it", "the", "that's"))


_LINE_MARK_RE = re.compile(r"^\s*(?:#{1,6}\s+|[-*•]\s+|\(?\d{1,2}[.)]\s+|>\s+)")


def cut_note(note: Note, lexicon: Lexicon, score_ends: ScoreEnds) -> list[Sentence]:
    """Cut a note, or a ticket's row, into pieces that each say one thing.

    It is cut at line ends, between sentences, and in a line of shorthand where the head sees an end.
    """
    at = At(note.path, note.row)
    lines = [_LINE_MARK_RE.sub("", line).strip().strip("*_").split() for line in note.text.splitlines()]
    words = [word for line in lines for word in line]
    scores = iter(score_ends(words) if words else ())
    pieces: list[Sentence] = []
    for line in lines:
        piece: list[str] = []
        for place, word in enumerate(line):
            piece.append(word)
            following = line[min(place + 1, len(line) - 1)]
            ends = next(scores) > 0 and _may_part(word, following)
            if ends or (_ends_sentence(word) and following[:1].isupper()) or place == len(line) - 1:
                heard = " ".join(piece).strip(" \t*_|")
                if re.search(r"\w", heard):
                    pieces.append(Sentence(lexicon.mend(heard), heard, at))
                piece = []
    return pieces


_STOP_RE = re.compile(r"[.,;:!?)\]]$|^(?:->|=>|→|-|–|/|\||\+|=)$")
_OPENER_RE = re.compile(r"^(?:->|=>|→|-|–|/|\||\+|=|&|\(.*|and|then|but|now|so)$|^(?:->|=>|→|\+)", re.IGNORECASE)


def _may_part(word: str, following: str) -> bool:
    """Whether two pieces of a line may meet between these words: at a stop or a sign, or before a word that goes on."""
    return _STOP_RE.search(word) is not None or _OPENER_RE.search(following) is not None
