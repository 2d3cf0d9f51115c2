"""Stated shares: how often, in the speaker's opinion, a component is the cause or the cure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.numbers import NUMBER, value_of
from kbindex.reading.prices import nearest_mention
from kbindex.reading.shares import SaidShare, find_shares
from kbindex.records import Kind, Sentence, StatedShare

_CLEARED_RE = re.compile(
    r"(?:\bnot (?:the|a)|\bisn'?t (?:the|a)|\bnever (?:the|a)|\brarely (?:the|a)|\bin(?: a| an| the)?|\bfor(?: a| an| the)?|\bof(?: these| the)?) *(?:\w+ )?$|"
    r"^\s*(?:itself\s+)?(?:is|was|'s|are)?\s*(?:fine|good|ok|not to blame|isn'?t|hardly ever|never)",
    re.IGNORECASE,
)
_FURTHER_RE = re.compile(
    rf"(?P<low>{NUMBER})(?:\s*(?:,|to|or|-|maybe)\s*(?P<high>{NUMBER}))?(?=\s*(?:%|percent|per cent)?\s*(?:it'?s |is |for |to )?(?:the|a|an|on)?\s)",
    re.IGNORECASE,
)
_BARE_NOTE_RE = re.compile(r"(?<![\d/.$£-])(?P<k>\d{1,2})\s*/\s*(?P<n>\d{1,2})(?![\d/])")


def read_shares(
    sentences: Sequence[Sentence], judged: Sequence[Judged], machine: str | None, lexicon: Lexicon
) -> tuple[StatedShare, ...]:
    """Read the shares that are stated of a component. Words without a number count only in a sentence judged a share."""
    found: list[StatedShare] = []
    recent: list[str] = []
    for place, (sentence, verdict) in enumerate(zip(sentences, judged, strict=True)):
        mentions = lexicon.find_parts(sentence.text, machine, recent)
        likely = verdict.chances["kind"][Kind.SHARE.value]
        if likely > 0.15 or verdict.kind in (Kind.SHARE, Kind.CAUSE):
            shares = _shares_of(sentence.text, mentions, likely)
            following = _following_mentions(sentences, place, machine, lexicon, recent) if shares and not mentions else []
            for share, component in _bind(shares, mentions, following, recent, sentence.text):
                found.append(StatedShare(component, round(share.low, 4), round(share.high, 4), sentence.text, sentence.at))
        recent += [mention.component for mention in mentions if not mention.minor]
    return tuple(found)


def _shares_of(text: str, mentions: Sequence[Mention], likely: float) -> list[SaidShare]:
    """Shares with a number go before chance words; "sixty per cent belt, twenty-five the capacitor" holds two."""
    said = find_shares(text)
    counted = [share for share in said if share.counted] or (_bare_fractions(text) if likely > 0.4 else [])
    if not counted:
        return said if likely > 0.5 else []
    last = max(share.end for share in counted)
    for match in _FURTHER_RE.finditer(text, last):
        low, high = value_of(match.group("low")), value_of(match.group("high") or match.group("low"))
        named = any(0 <= m.start - match.end() <= 12 or 0 <= match.start() - m.end <= 12 for m in mentions)
        if low and high and 3 <= low <= high <= 97 and named:
            counted.append(SaidShare(low / 100, high / 100, match.start(), match.end()))
    return counted


def _bare_fractions(text: str) -> list[SaidShare]:
    """Shorthand of a note: "hum = mtr, 3/4", "50/50 switch or element"."""
    found = []
    for match in _BARE_NOTE_RE.finditer(text):
        k, n = int(match.group("k")), int(match.group("n"))
        share = 0.5 if k == n else k / n if 0 < k < n else None
        if share is not None:
            found.append(SaidShare(share, share, match.start(), match.end()))
    return found


def _following_mentions(
    sentences: Sequence[Sentence], place: int, machine: str | None, lexicon: Lexicon, recent: Sequence[str]
) -> list[Mention]:
    """Components named right after a share that names none: captions are often cut between the two."""
    if place + 1 >= len(sentences) or not re.match(
        r"\s*(?:it'?s|its|that'?s|is|the|on|for)\b", sentences[place + 1].text, re.I
    ):
        return []
    return lexicon.find_parts(sentences[place + 1].text, machine, recent)


def _bind(
    shares: Sequence[SaidShare], mentions: Sequence[Mention], following: Sequence[Mention], recent: Sequence[str], text: str
) -> list[tuple[SaidShare, str]]:
    """Give each share the component that it speaks of; each component once, unless there are fewer of them."""
    candidates = [
        m for m in mentions if not _CLEARED_RE.search(text[: m.start]) and not _CLEARED_RE.match(text[m.end :])
    ] or list(mentions)
    bound: list[tuple[SaidShare, str]] = []
    for share in shares:
        taken = {component for _, component in bound}
        free = [m for m in candidates if m.component not in taken]
        if free:
            bound.append((share, nearest_mention(free, share.start, share.end, text).component))
        elif not mentions and following:
            bound.append((share, following[0].component))
        elif not mentions and recent:
            bound.append((share, recent[-1]))
    return bound
