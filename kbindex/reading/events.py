"""Events in a document: work done on a component, and what a run afterwards showed.

The heads say which sentences tell of work and of results, and the pointer which components the work was done on. Here
their chances become events; a part that the lexicon has never heard of is taken from the words behind the operation.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.reading.kinds import Judged, Pointed
from kbindex.reading.lexicon import Lexicon
from kbindex.records import By, Operation, Result, Sentence

_ATTEMPT = 0.4
"""Least chance of an attempt for an event."""
TURN, HINT = 0.4, 0.2
"""Chance from which a result is told, and from which there is a hint of one."""
_COMPONENT = 0.5
"""Chance from which a component was worked on; several may reach it in one sentence."""
_LIKELY_COMPONENT, _BEST_COMPONENT = 0.25, 0.12
"""Least chances of the likeliest component where none reaches the other one, before and after unknown parts are looked for."""
_GUESS = 0.5
"""The chance given to a component that no mention of the lexicon stands for."""
_OTHERS = 0.5

_POWER_RESET_RE = re.compile(r"\breset|\breboot|power[\s-]?cycl|breaker|unplug", re.IGNORECASE)
_PLUG_RE = re.compile(r"\b(?:plugs?|connectors?|molex|pins?|spades?)\b", re.IGNORECASE)
_JOINT_RE = re.compile(
    r"\b(?:both|same time|together|as well|at once|along with|while (?:i|we|i'm|i was|we were)|pair of)\b", re.I
)
_NOT_RUN_RE = re.compile(
    r"\b(?:(?:have|had|has|did|could|can) ?n[o']t|haven'?t|hasn'?t|didn'?t|couldn'?t|can'?t|never|not|no time to|without) (?:yet |even |actually |get to |got to |got round to |been able to |been )*"
    r"(?:seen it (?:fill|run|heat|cool|work|start|drain|spin)|(?:test|run|try|tri)(?:ed|ing)? (?:it|her|him|yet|the (?:machine|repair|cycle|new))|tested|been run|run (?:-|,|yet|\.|$))|"
    r"\b(?:not|un)[\s-]?tested\b|\bno test run\b|\bnot run\b",
    re.IGNORECASE,
)
_SKIP_WORDS = frozenset(
    "a an the new his her their its old another this that one it out in on up whole brand replacement used spare".split()
)
_STOP_WORDS = frozenset(
    "and but so then with to for from of at because since while after before i we he she it they is was now again out "
    "in on off up ran run tested test works worked still no ok".split()
)


@dataclass(frozen=True)
class Work:
    """An attempt told in sentence number `sentence`; `chance` is that of an attempt on this very component."""

    sentence: int
    operation: Operation
    component: str
    by: By
    chance: float
    joint_cue: bool = False


@dataclass(frozen=True)
class Turn:
    """A result told in sentence number `sentence`; a mere hint of one where its chance is less than `TURN`."""

    sentence: int
    result: Result
    chance: float


def find_events(sentences: Sequence[Sentence], judged: Sequence[Judged], lexicon: Lexicon) -> list[Work | Turn]:
    """Find the events of one job's sentences, in the order in which they are told; in one sentence work stands first."""
    events: list[Work | Turn] = []
    for number, (sentence, verdict) in enumerate(zip(sentences, judged, strict=True)):
        events += _find_work(number, sentence.text, verdict, lexicon)
        if turn := _find_turn(number, sentence.text, verdict):
            events.append(turn)
    return events


def _find_work(number: int, text: str, verdict: Judged, lexicon: Lexicon) -> list[Work]:
    if verdict.attempt < _ATTEMPT:
        return []
    by = By.OTHER if verdict.by_other >= _OTHERS else By.US
    joint = _JOINT_RE.search(text) is not None
    done = {one.component: one for one in _worked_on(text, verdict, lexicon)}
    return [Work(number, one.operation, one.component, by, verdict.attempt * one.chance, joint) for one in done.values()]


def _worked_on(text: str, verdict: Judged, lexicon: Lexicon) -> list[Pointed]:
    """The components worked on, with what was done to each; the likeliest last."""
    sure = [one for one in verdict.components if one.chance >= _COMPONENT]
    if verdict.operation is Operation.RESEAT and _PLUG_RE.search(text) and not any(one.own for one in sure):
        return [_guess("connector", Operation.RESEAT)]
    if sure:
        return list(reversed(sure))
    if verdict.operation is Operation.RESET and _POWER_RESET_RE.search(text):
        return [_guess("control board", Operation.RESET)]
    best = verdict.components[0] if verdict.components else None
    if best and best.chance >= _LIKELY_COMPONENT:
        return [best]
    if unknown := _unknown_component(text, lexicon):
        return [_guess(unknown, verdict.operation)]
    return [best] if best and best.chance >= _BEST_COMPONENT else []


def _guess(component: str, operation: Operation) -> Pointed:
    return Pointed(component, 0, True, _GUESS, operation)


def _unknown_component(text: str, lexicon: Lexicon) -> str | None:
    """A part that the lexicon has never heard of: the nouns right behind an operation, at most three."""
    for said in lexicon.operations.find(text):
        rest = text[said.end :].lower()
        words: list[str] = []
        for token in re.findall(r"[a-z][a-z'-]+|[^a-z\s]", rest):
            if token in _SKIP_WORDS and not words:
                continue
            if not token[0].isalpha() or token in _STOP_WORDS or len(words) == 3:
                break
            words.append(token)
        if words and len("".join(words)) > 3 and re.match(r"\s*(?:in )?(?:a|an|the|new|his|her|its|my|another)\b", rest):
            return " ".join(words)
    return None


def _find_turn(number: int, text: str, verdict: Judged) -> Turn | None:
    if _NOT_RUN_RE.search(text):
        return Turn(number, Result.UNTESTED, 1.0)
    told = 1 - verdict.chances["turn"]["none"]
    if told < HINT:
        return None
    results = [result for result in Result if result is not Result.UNTESTED]
    return Turn(number, max(results, key=verdict.turn), told)
