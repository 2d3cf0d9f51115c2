"""Timed text (WebVTT, SubRip) as a recording's words with times."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, groupby, pairwise
from pathlib import Path

from kbindex.engines.cues import Cue, is_vtt, parse_srt, parse_vtt, read_stamp, write_vtt
from kbindex.engines.text_files import decode_text, read_bytes
from kbindex.errors import DocumentError
from kbindex.records import Recording, Word

__all__ = ["read_timed_text", "write_vtt"]

_VTT_TAG = re.compile(r"<(?![ \t\n])([^>]*)(?:>|$)")
_SRT_TAG = re.compile(r"</?[a-z][^<>]*>|\{\\[^}]*\}|\{/?[biu]\}", re.IGNORECASE)
_BRACKETED = re.compile(r"\[[^\[\]]*\]|[♪♫♬][^♪♫♬]*[♪♫♬]|[♪♫♬]")
_SOUND = re.compile(r"(?m)(?:^|(?<=[.?!] )|(?<=: )|(?<=- ))[ \t]*\((?:[^\s()]+ ){0,3}[^\s()]+\)")
"""A sound told in round brackets: up to four words, opening a line or sentence ("this one (not that one)" stays)."""
_UNSEEN = dict.fromkeys(map(ord, "\u200b\u200e\u200f\u2060\ufeff"))
_NO_WORD = re.compile(r"[-–—>•*#_=~|]+$")
_LEAST_WORD_S = 0.001


@dataclass(frozen=True)
class _Token:
    """A word of a cue, the line it stands in, and its own start where the cue gives one."""

    text: str
    line: int
    start_s: float | None = None


@dataclass(frozen=True)
class _Spoken:
    """A cue's words."""

    start_s: float
    end_s: float
    tokens: tuple[_Token, ...]


def read_timed_text(file: Path, path: str) -> Recording:
    """Read WebVTT or SubRip as a recording's words; it lasts until its last cue ends.

    Words take their times from timestamps inside the cue, else a cue's time is shared out by length of word. Rolling
    captions give every word once. Names of speakers, sounds in brackets and music are left out.

    Raises:
        DocumentError: The file cannot be opened, is empty, is not WebVTT although named so, or holds no readable cue.
    """
    cues = _read_cues(file)
    if not cues:
        raise DocumentError(
            file,
            "holds no cue that can be read",
            "export the captions again, or remove the file to have the recording transcribed",
        )
    words = _in_order(_time_words(_said_once(cues)))
    return Recording(path, tuple(words), max(cue.end_s for cue in cues))


def _read_cues(file: Path) -> list[_Spoken]:
    """Cues by start, as in the file where starts are equal, each with its words."""
    data = read_bytes(file)
    # WebVTT is UTF-8 by its standard, broken bytes and all; SubRip is whatever it was saved in.
    text = data.decode("utf-8-sig", errors="replace")
    vtt = is_vtt(text.replace("\r", "\n"))
    if not vtt:
        text = decode_text(data, file)
        vtt = is_vtt(text.replace("\r", "\n"))
    if not vtt and file.suffix.lower() == ".vtt":
        raise DocumentError(
            file,
            "is not WebVTT (its first line is not WEBVTT)",
            "export the captions again, or rename it if it is SubRip (.srt)",
        )
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd")
    cues = parse_vtt(lines) if vtt else parse_srt(lines)
    return [_speak(cue, vtt) for cue in sorted(cues, key=lambda cue: cue.start_s)]


def _speak(cue: Cue, vtt: bool) -> _Spoken:
    """Take a cue's text apart into words: tags out, character references in, sounds and music out."""
    plain, stamps = _strip_tags(cue.text, _VTT_TAG if vtt else _SRT_TAG)
    for pattern in (_BRACKETED, _SOUND):
        plain = pattern.sub(lambda match: re.sub(r"[^\n]", " ", match[0]), plain)
    tokens: list[_Token] = []
    ended = 0
    for match in re.finditer(r"\S+", plain):
        if _NO_WORD.match(match[0]):
            continue
        # A timestamp holds for the word that follows it; one inside a word is for a syllable and is passed over.
        times = [time for place, time in stamps if ended <= place <= match.start()]
        tokens.append(_Token(match[0], plain.count("\n", 0, match.start()), times[-1] if times else None))
        ended = match.end()
    return _Spoken(cue.start_s, cue.end_s, tuple(tokens))


def _strip_tags(text: str, tag: re.Pattern[str]) -> tuple[str, list[tuple[int, float]]]:
    """Give the text that is shown, and the timestamps that stood in it with their places in that text."""
    plain, stamps, at = "", [], 0
    for match in tag.finditer(text):
        plain += html.unescape(text[at : match.start()]).translate(_UNSEEN)
        stamp = read_stamp(match[0].strip("<>").strip())
        if stamp is not None:
            stamps.append((len(plain), stamp))
        at = match.end()
    return plain + html.unescape(text[at:]).translate(_UNSEEN), stamps


def _said_once(cues: Sequence[_Spoken]) -> list[_Spoken]:
    """Take from each cue of rolling captions what the cue before it shows already; other captions stay as they are."""
    shown = [cue for cue in cues if cue.tokens]
    repeats = [0, *(_repeated(earlier, later) for earlier, later in pairwise(shown))]
    if not _is_rolling(shown, repeats):
        return shown
    once = [replace(cue, tokens=cue.tokens[repeat:]) for cue, repeat in zip(shown, repeats, strict=True)]
    return [cue for cue in once if cue.tokens]


def _repeated(earlier: _Spoken, later: _Spoken) -> int:
    """How many of the later cue's first words are the earlier one's from the start of one of its lines to its end."""
    old = [token.text for token in earlier.tokens]
    new = [token.text for token in later.tokens]
    lines = [token.line for token in earlier.tokens]
    for start in range(len(old)):
        opens_line = start == 0 or lines[start] != lines[start - 1]
        if opens_line and new[: len(old) - start] == old[start:]:
            return len(old) - start
    return 0


def _is_rolling(cues: Sequence[_Spoken], repeats: Sequence[int]) -> bool:
    """Whether captions roll: cues that repeat and go on are no fewer than those that repeat nothing.

    A cue that only repeats counts for neither: "No." twice is said twice, unless the file rolls.
    """
    going_on = sum(0 < repeat < len(cue.tokens) for cue, repeat in zip(cues[1:], repeats[1:], strict=True))
    fresh = sum(not repeat for repeat in repeats[1:])
    return going_on > 0 and going_on >= fresh


def _time_words(cues: Sequence[_Spoken]) -> Iterator[Word]:
    """Give each word its time. Cues that begin together count as one; a cue ends where the next begins, if not before."""
    groups = [tuple(group) for _, group in groupby(cues, key=lambda cue: cue.start_s)]
    starts_s = [group[0].start_s for group in groups]
    for group, next_s in zip(groups, [*starts_s[1:], math.inf], strict=False):
        tokens = tuple(chain.from_iterable(cue.tokens for cue in group))
        end_s = min(max(cue.end_s for cue in group), next_s)
        yield from _time_cue(_Spoken(group[0].start_s, end_s, tokens))


def _time_cue(cue: _Spoken) -> Iterator[Word]:
    """Share a cue's time out: between its timestamps where it has any, within those by length of word."""
    groups: list[tuple[float, list[str]]] = []
    for token in cue.tokens:
        stamp = token.start_s
        # The standard lets a timestamp stand only between the cue's times and after the one before it.
        if stamp is not None and cue.start_s <= stamp < cue.end_s and (not groups or stamp > groups[-1][0]):
            groups.append((stamp, [token.text]))
        elif groups:
            groups[-1][1].append(token.text)
        else:
            groups.append((cue.start_s, [token.text]))
    ends = [*(start_s for start_s, _ in groups[1:]), cue.end_s]
    for (start_s, texts), end_s in zip(groups, ends, strict=True):
        if len(groups) > 1:  # a timestamp tells when a word begins, not that it lasts until the next begins
            end_s = min(end_s, start_s + sum(_longest_s(text) for text in texts))
        yield from _share_out(start_s, end_s, texts)


def _longest_s(text: str) -> float:
    """How long a word may take at most when only its start is known: slow speech, about 10 letters a second."""
    return 0.4 + 0.07 * len(text)


def _share_out(start_s: float, end_s: float, texts: Sequence[str]) -> Iterator[Word]:
    per_letter = (end_s - start_s) / sum(len(text) for text in texts)
    at = start_s
    for text in texts:
        yield Word(text, at, at + per_letter * len(text))
        at += per_letter * len(text)


def _in_order(words: Iterable[Word]) -> Iterator[Word]:
    """Let no word start before the one before it ends, and each end after its start (cues may overlap)."""
    free_s = 0.0
    for word in words:
        start_s = max(word.start_s, free_s)
        free_s = max(word.end_s, start_s + _LEAST_WORD_S)
        yield replace(word, start_s=round(start_s, 6), end_s=round(free_s, 6))
