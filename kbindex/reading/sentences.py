"""Words and notes into sentences with their places.

Punctuated speech is cut at its full stops. Raw captions have none, and recognisers forget them for whole stretches: what
runs on too long is cut at pauses and before words that open a new thought, once a piece is long enough to stand alone. Notes are cut at line ends, full stops, semicolons and arrows.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from kbindex.reading.lexicon import Lexicon
from kbindex.reading.numbers import value_of
from kbindex.records import At, Note, Recording, Sentence, Word

_PAUSE_S = 0.6
_COMMA_PAUSE_S = 0.25
_LONG_PAUSE_S = 2.0
_ENOUGH_WORDS = 6
_TOO_MANY_WORDS = 34
_LONG_SENTENCE_WORDS = 26
_ABBREVIATIONS = frozenset("mr. mrs. ms. dr. st. no. approx. vs. e.g. i.e. etc. min. hr. in. ft. deg. temp. jr. dept.".split())
_OPENERS = frozenset(
    "so okay ok now alright right anyway but then well because let's lets today next also first second finally and i "
    "i'm im i've we we're were it's its that's thats there there's theres here here's heres you you're he she they "
    "this these if when what good great yeah yep nope no customer lady".split()
)
_STRONG_OPENERS = frozenset("so okay ok now alright anyway today next finally yeah yep nope".split())
_NEVER_BEFORE_CUT = frozenset(
    "the a an of to in on at for with from my your his her our their and or but so that which if when because is are "
    "was it's its this those these new old i we you he she they not very really just into onto like about".split()
)


def cut_speech(recording: Recording, lexicon: Lexicon) -> list[Sentence]:
    """Cut a recording's words into sentences; none for a recording without words."""
    words = recording.words
    stops = sum(_ends_sentence(word.text) for word in words)
    groups = _cut_raw(words) if stops * 40 < len(words) else _cut_long(_cut_at_stops(words))
    return [_spoken_sentence(recording.path, group, lexicon) for group in groups if group]


def _spoken_sentence(path: str, words: Sequence[Word], lexicon: Lexicon) -> Sentence:
    heard = " ".join(word.text for word in words)
    at = At(path, None, round(words[0].start_s, 2), round(words[-1].end_s, 2))
    return Sentence(lexicon.mend(heard), heard, at)


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


def _cut_long(groups: Sequence[list[Word]]) -> list[list[Word]]:
    return [part for group in groups for part in (_cut_raw(group) if len(group) > _LONG_SENTENCE_WORDS else [group])]


def _cut_raw(words: Sequence[Word]) -> list[list[Word]]:
    groups: list[list[Word]] = [[]]
    for place, word in enumerate(words):
        group = groups[-1]
        if group and _opens(words, place, len(group)):
            groups.append([])
        groups[-1].append(word)
    return groups


def _opens(words: Sequence[Word], place: int, length: int) -> bool:
    """Whether the word at `place` opens a new sentence after `length` words of the current one."""
    word, before = words[place].text.lower().strip(",.?!"), words[place - 1].text.lower().strip(",.?!")
    pause_s = words[place].start_s - words[place - 1].end_s
    if _runs_on(before, word, words[place + 1].text.lower() if place + 1 < len(words) else ""):
        return False
    after_comma = words[place - 1].text.endswith(",")
    if after_comma and length >= 7 and (pause_s >= _COMMA_PAUSE_S or word in _OPENERS):
        return True
    if pause_s >= _PAUSE_S and (length >= 3 or pause_s >= 1.0):
        return True
    if length >= _TOO_MANY_WORDS:
        return before not in _NEVER_BEFORE_CUT
    if before in _NEVER_BEFORE_CUT and before not in _STRONG_OPENERS:
        return False
    if word in _STRONG_OPENERS and length >= 4:
        return True
    return word in _OPENERS and length >= _ENOUGH_WORDS


_SHARE_ENDS = frozenset("percent cent time times ten five".split())


def _runs_on(before: str, word: str, following: str) -> bool:
    """Whether a thought goes on here: within a number, or from a share to what it is the share of."""
    within_number = word == "and" and value_of(before) is not None and value_of(following) is not None
    return within_number or (before in _SHARE_ENDS and word in ("it's", "its", "it", "the", "that's"))


_LINE_MARK_RE = re.compile(r"^\s*(?:#{1,6}\s+|[-*•]\s+|\d+[.)]\s+|>\s+)")
_PIECE_RE = re.compile(
    r"(?:(?<=[.!?])(?<!\b[a-z]\.)(?<!\bno\.)(?<!\bcust\.)(?<!\bapt\.)(?<!\bst\.)(?<!\bassy\.)(?<!\btemp\.)(?<!\btherm\.)(?<!\bw/o\.)(?<!\bapprox\.)(?<!\bvs\.)(?<!\bMr\.)(?<!\bMrs\.)(?<!\bMs\.)(?<!\bDr\.)\s+)"
    r"|\s*;\s+|\s+(?=(?:->|=>|→|--?>|>>)\s*\S)|\s+[-–—]{1,2}\s+|\s*\|\s*",
    re.IGNORECASE,
)


def cut_note(note: Note, lexicon: Lexicon) -> list[Sentence]:
    """Cut a note, or a ticket's row, into pieces that each say one thing."""
    at = At(note.path, note.row)
    pieces: list[Sentence] = []
    for line in note.text.splitlines():
        bare = _LINE_MARK_RE.sub("", line).strip().strip("*_").strip()
        for piece in _PIECE_RE.split(bare):
            heard = piece.strip(" \t*_")
            if re.search(r"\w", heard):
                pieces.append(Sentence(lexicon.mend(heard), heard, at))
    return pieces
