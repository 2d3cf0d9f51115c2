"""Work told in a document, and the components that it was done on.

The heads say which sentences tell of work. Which component is meant is told by the catalogue, which knows what the sentence
points at; where several are pointed at they all were worked on, and for a part that the list has never heard of the words
behind the operation are taken.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.reading.catalogue import UNLISTED
from kbindex.reading.kinds import Judged, Pointed
from kbindex.reading.lexicon import Lexicon
from kbindex.records import By, Operation, Sentence

_ATTEMPT = 0.4
"""Least chance of an attempt for an event."""
_COMPONENT = 0.5
"""Chance from which a component was worked on; several may reach it in one sentence."""
_OVERRULES = 0.5
"""Chance of a part of the list from which it counts more than the one component that is pointed at."""
_LISTED, _LIKELY, _LAST = 0.4, 0.25, 0.12
"""Least chances where nothing is pointed at for certain: of a part of the list, of what is pointed at, and of either when no
unknown part is named."""
_GUESS = 0.5
"""The chance given to a component that no mention of the lexicon stands for."""
_OTHERS = 0.5

_POWER_RESET_RE = re.compile(r"\breset|\breboot|power[\s-]?cycl|breaker|unplug", re.IGNORECASE)
_PLUG_RE = re.compile(r"\b(?:plugs?|connectors?|molex|pins?|spades?)\b", re.IGNORECASE)
_JOINT_RE = re.compile(
    r"\b(?:both|same time|together|as well|at once|along with|while (?:i|we|i'm|i was|we were)|pair of)\b", re.I
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
    """An attempt told in sentence number `sentence`; `chance` is that of an attempt, `component_chance` that of this part."""

    sentence: int
    operation: Operation
    component: str
    by: By
    chance: float
    component_chance: float = 1.0
    joint_cue: bool = False


def find_work(sentences: Sequence[Sentence], judged: Sequence[Judged], lexicon: Lexicon) -> list[Work]:
    """Find the work told in one job's sentences, in the order in which it is told."""
    told = enumerate(zip(sentences, judged, strict=True))
    return [work for number, (sentence, verdict) in told for work in _find_work(number, sentence.text, verdict, lexicon)]


def _find_work(number: int, text: str, verdict: Judged, lexicon: Lexicon) -> list[Work]:
    if verdict.attempt < _ATTEMPT:
        return []
    by = By.OTHER if verdict.by_other >= _OTHERS else By.US
    joint = _JOINT_RE.search(text) is not None
    done = {one.component: one for one in _worked_on(text, verdict, lexicon)}
    return [Work(number, one.operation, one.component, by, verdict.attempt, one.chance, joint) for one in done.values()]


def _worked_on(text: str, verdict: Judged, lexicon: Lexicon) -> list[Pointed]:
    """The components worked on, with what was done to each; the likeliest last."""
    sure = [one for one in verdict.components if one.chance >= _COMPONENT]
    if verdict.operation is Operation.RESEAT and _PLUG_RE.search(text) and not any(one.own for one in sure):
        return [_guess("connector", Operation.RESEAT)]
    listed = _listed(verdict)
    if len(sure) == 1 and listed and listed.component != sure[0].component and listed.chance >= _OVERRULES:
        return [listed]
    return list(reversed(sure)) or _likely(text, verdict, listed, lexicon)


def _listed(verdict: Judged) -> Pointed | None:
    """The likeliest part of the list; None where it is none of them."""
    name, chance = next(iter(verdict.listed.items()), (UNLISTED, 0.0))
    return None if name == UNLISTED else Pointed(name, 0, False, chance, verdict.operation)


def _likely(text: str, verdict: Judged, listed: Pointed | None, lexicon: Lexicon) -> list[Pointed]:
    """The component where none is pointed at for certain."""
    if verdict.operation is Operation.RESET and _POWER_RESET_RE.search(text):
        return [_guess("control board", Operation.RESET)]
    best = verdict.components[0] if verdict.components else None
    if listed and listed.chance >= _LISTED:
        return [next((one for one in verdict.components if one.component == listed.component), listed)]
    if best and best.chance >= _LIKELY:
        return [best]
    if unknown := _unknown_component(text, lexicon):
        return [_guess(unknown, verdict.operation)]
    last = listed if listed and listed.chance >= _LAST else best
    return [last] if last and last.chance >= _LAST else []


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
