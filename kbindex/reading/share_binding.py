"""Which component a share speaks of: the one it is said of, not the one that the complaint or the machine is named by."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kbindex.reading.amount_links import Link
from kbindex.reading.lexicon import Mention
from kbindex.reading.shares import SaidShare


@dataclass(frozen=True)
class Spoken:
    """A sentence's words with the components named in them."""

    text: str
    mentions: tuple[Mention, ...]

    @property
    def is_cut(self) -> bool:
        """Whether it ends without a stop, as raw captions do: the thought may go on in the next one."""
        return self.text.rstrip()[-1:] not in (".", "!", "?", ":", ";", ")")


@dataclass(frozen=True)
class _Candidate:
    """A component near a share, by its place in the joined text; `apart` is what the sentence end between them costs.

    `minor` are small parts, and the first word of a compound ("knob switches").
    """

    component: str
    start: int
    end: int
    apart: float
    minor: bool


_IS = (
    r"(?:it'?s|its|it is|it was|that'?s|is|'s|are|was|were|be|it'?d be|turns? out(?: to be)?|=|:|find|lost|change|order|blame)"
)
_LINKED_RE = re.compile(
    rf"(?:^|\b|\s){_IS}\s+(?:(?:just|only|always|the|a|an|your|its|that|this|them|one|of|little|same|really|gonna|be|either|going|to|bad|dirty|worn|dead)\s+){{0,4}}$",
    re.I,
)
_FEW = r"(?:(?:just|only|always|the|a|an|your|its|that|actual)\s+){0,3}"
_SAID_OF_RE = re.compile(
    rf"^(?:\s*(?:of (?:the )?(?:time|times|them|'?em|those|these|cases)|times|or so|the time)\b)?[\s,]*(?:{_IS}|on|for)\s+{_FEW}$",
    re.I,
)
_NEXT_TO_RE = re.compile(rf"^\s*(?:of the times?|the times?|times|or so)?\s+{_FEW}$", re.I)
_AFTER_COMMA_RE = re.compile(rf"^\s*(?:of the times?|the times?|times|or so)?\s*,\s*{_FEW}$", re.I)
_BLAMED_RE = re.compile(
    r"^s?(?:'s| is| was| are)? (?:the|a|your|my) (?:\w+ )?(?:culprit|reason|cause|problem|trouble|suspect|cure|fix|one)\b", re.I
)
_ADJACENT_BEFORE_RE = re.compile(
    r"^(?:'s|'ll be|s|es)?[\s,:=-]*(?:(?:is|are|was|were|it|about|maybe|like|the reason|i'?d (?:say|go|call it)|(?:i )?(?:would|will) say|i'?m gonna say|basically|pretty much|only|another|probably|just|at|in|some|around|roughly|the|of)[\s,]*){0,4}$",
    re.I,
)
_CLEARED_BEFORE_RE = re.compile(
    r"(?:\bnot|\bisn'?t|\bnever|\brarely|\bno|\binstead of|\brather than|\bmore than|\bwithout)\s+(?:(?:only|just|the|a|an|your|its)\s+){0,2}$",
    re.I,
)
_SETTING_BEFORE_RE = re.compile(
    r"\b(?:in|inside|for|of (?:these|those|my|the|that)|of|with|from|under|after|when|behind|like|to)\s+(?:(?:a|an|the|these|those|this|that|any|new|most)\s+){0,2}(?:\w+\s+)?$",
    re.I,
)
_CLEARED_AFTER_RE = re.compile(
    r"^\s*(?:itself\s+)?(?:is|was|'s|are)?\s*(?:fine|good|ok|okay|innocent|not to blame|isn'?t|hardly ever|never|is not|was not)\b",
    re.I,
)
_SUBJECT_RE = re.compile(r"\b(?:a|an)\s+(?:\w+\s+)?$", re.I)
_SUBJECT_AFTER_RE = re.compile(r"^s?\s*(?:that|which|like|as)\b", re.I)
_BREAK_RE = re.compile(r"[,;:.]|\b(?:and|but|so|then|because|when|if|that|which)\b", re.I)
_POINTS_BACK_RE = re.compile(
    r"\b(?:it'?s|it is|is|are|see|get|find) (?:this|these|that|those|them|it)(?: only| here| thing)?(?=\s*(?:[.,;!]|$|maybe|about|more|only|like|in|at|one|two|three|four|five))|^\W*(?:and |so )?(?:this|that) (?:is|one's|happens|goes)\b",
    re.I,
)
_REST_RE = re.compile(r"\b(?:other|another|rest)\s*$", re.I)
_NEW_CLAUSE_RE = re.compile(r"^s?(?:'s| is| was| are| were)\b", re.I)
_DEAREST = 14.0
_LINKED, _USUAL_LINK = 16.0, 0.3
"""What a certain link between a share and a component is worth, and the chance of one that says nothing."""
_LEAST_LIKELY = 0.02
"""Chance of a link under which a share is not said of a component, however the words stand."""


def bind(links: Mapping[SaidShare, Link], spoken: Sequence[Spoken], place: int) -> list[tuple[SaidShare, str]]:
    """Give each share of a sentence, in order, the component that it speaks of; one that speaks of none is left out."""
    bound = dict(_bind(list(links), spoken, place, [link.chances for link in links.values()]))
    for share, link in links.items():
        if link.chances.get(bound.get(share, ""), 0.0) < _LEAST_LIKELY:
            bound.pop(share, None)
        if link.sure_part and link.sure_part not in bound.values():
            bound[share] = link.sure_part
    return [(share, bound[share]) for share in links if share in bound]


def _bind(
    shares: Sequence[SaidShare], spoken: Sequence[Spoken], place: int, links: Sequence[Mapping[str, float]]
) -> list[tuple[SaidShare, str]]:
    back = _spoken_before(spoken, place)
    if back and _POINTS_BACK_RE.search(spoken[place].text):
        return [(share, back) for share in shares[:1]]
    text, offset, candidates = _join(spoken, place)
    priced = [
        (_price(one, share, text, offset) + _LINKED * (_USUAL_LINK - links[n].get(one.component, 0.0)), n, one.component)
        for n, share in enumerate(shares)
        for one in candidates
    ]
    bound: dict[int, str] = {}
    for price, n, component in sorted(priced):
        if price < _DEAREST and n not in bound and component not in bound.values():
            bound[n] = component
    if not bound and back and not spoken[place].mentions:
        return [(share, back) for share in shares[:1]]
    return [(shares[n], component) for n, component in sorted(bound.items())]


def _join(spoken: Sequence[Spoken], place: int) -> tuple[str, int, list[_Candidate]]:
    """The sentence with its neighbours as one text, where it begins there, and all components named in them."""
    text, offset = "", 0
    candidates: list[_Candidate] = []
    for other in range(max(0, place - 1), min(len(spoken), place + 2)):
        offset = len(text) if other == place else offset
        is_cut = spoken[min(other, place)].is_cut
        alone = len(spoken[place].mentions) == 1
        apart = -4.0 * alone if other == place else 3.0 if is_cut else 9.0
        for m in spoken[other].mentions:
            goes_on = any(0 <= after.start - m.end <= 1 for after in spoken[other].mentions)
            candidates.append(_Candidate(m.component, m.start + len(text), m.end + len(text), apart, m.minor or goes_on))
        text += spoken[other].text + " "
    return text, offset, candidates


def _price(one: _Candidate, share: SaidShare, text: str, offset: int) -> float:
    """How far a component is from being what the share is said of; the least wins."""
    start, end = share.start + offset, share.end + offset
    follows = one.start >= end
    between = text[end : one.start] if follows else text[one.end : start]
    price = one.apart + len(between) / 12 + 3 * len(_BREAK_RE.findall(between.strip(" ,"))) + 4 * one.minor
    return price + _nearness(one, text, between, follows) + _clearance(one, text)


def _nearness(one: _Candidate, text: str, between: str, follows: bool) -> float:
    """What the words between, and those before the component, say for it (less than 0) or against it."""
    linked = _LINKED_RE.search(text[: one.start]) is not None
    if follows:
        beside = -4 if _NEW_CLAUSE_RE.match(text[one.end :]) else -8
        close = (
            -8
            if _SAID_OF_RE.match(between)
            else beside
            if _NEXT_TO_RE.match(between)
            else -4
            if _AFTER_COMMA_RE.match(between)
            else 0
        )
        return min(close, -5 if linked or _BLAMED_RE.match(text[one.end :]) else 0)
    if _REST_RE.search(between):
        return 8
    return -7 if _ADJACENT_BEFORE_RE.match(between) else -5 if linked else 4


def _clearance(one: _Candidate, text: str) -> float:
    """Against what is ruled out, what only says where or on what machine, and what goes on to another head noun."""
    before, after = text[: one.start], text[one.end :]
    if _CLEARED_BEFORE_RE.search(before) or _CLEARED_AFTER_RE.match(after):
        return 20
    if _SUBJECT_RE.search(before) and _SUBJECT_AFTER_RE.match(after):
        return 14
    return 6 if _SETTING_BEFORE_RE.search(before) and not _LINKED_RE.search(before) else 0


def _spoken_before(spoken: Sequence[Spoken], place: int) -> str | None:
    """What "it's this" means, and a share in a sentence without a component: the one named last, if it is not long ago."""
    for earlier in reversed(spoken[max(0, place - 4) : place]):
        named = [mention.component for mention in earlier.mentions if not mention.minor]
        if named:
            return named[-1]
    return None
