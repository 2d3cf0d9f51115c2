"""Events in a document: work done on a component, and what a run afterwards showed.

A sentence tells of work when an operation is said as performed (not intended, not recommended) and the event head agrees;
it tells of a result when the head and the lexicon together say so. Components come from the words beside the operation, or
from what was spoken of last ("swapped it").
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.reading.kinds import HEADS, OTHERS_RE, Judged
from kbindex.reading.lexicon import Lexicon, Mention, Said
from kbindex.records import By, Kind, Operation, Result, Sentence

_WITH_OPERATION = 0.15
_WITHOUT_OPERATION = 0.6
_WITHOUT_ANYTHING = 0.85
_UNLIKELY = 0.75
_IN_A_RESULT = 0.5
_SURELY_OTHER = 0.95
_SAME_COMPLAINT = 0.55
_RECALLED_COMPONENT = 0.5
_HINT = 0.2
_ONLY_A_HINT = 0.39
_LIKELY_A_RESULT = 0.25
_RESULT_RULE_BONUS = 0.35
_RESULT_KIND_BONUS = 0.15
_REACH = 60

_US_RE = re.compile(r"\b(?:i|i'm|i've|i'd|we|we've|we're)\b", re.IGNORECASE)
_SUBJECT_RE = re.compile(
    r"\s*(?:(?:so|and|then|now|okay|well|but|alright|right|first|next),? )*(?:i|i'?[mv]e?|we|he|she|they|it|you|the|this|that|there|here|my|her|his|new|old)\b",
    re.IGNORECASE,
)
_PLUG_RE = re.compile(r"\b(?:plugs?|connectors?|molex|pins?|spades?)\b", re.IGNORECASE)
_PEOPLE_RE = re.compile(
    r"\b(?:son|daughter|husband|wife|brother(?:-in-law)?|uncle|nephew|cousin|dad|daddy|father|mother|roommate|tenants?|customer|cust|landlord|neighbou?r|"
    r"handyman|(?:night |building |site )?manager|company|outfit|shop|electrician|plumber|engineer|repairman|serviceman|dealer|seller|sister|mom|mum|aunt|grand(?:son|pa|dad|father)|owner|guy|fella|fellow|bloke|lad|tech|technician|maintenance|janitor|caretaker|super|busboy|coach|counselor|boyfriend|kid|staff|agent)\b",
    re.IGNORECASE,
)
_NEW_RE = re.compile(r"\bnew\b|\breplacement\b", re.IGNORECASE)
_JOINT_RE = re.compile(
    r"\b(?:both|same time|together|as well|at once|along with|while (?:i|we|i'm|i was|we were)|pair of)\b", re.I
)
_POWER_RESET_RE = re.compile(r"\breset|\breboot|power[\s-]?cycl|breaker|unplug", re.IGNORECASE)
_ACCESS_RE = re.compile(
    r"\bto (?:reach|get (?:at|to|into|in at)|gain access|make room)\b|\b(?:as a|for) courtesy\b|\b(?:soap(?:ed|y)?|bubbles?|leak[\s-]?test\w*)\b",
    re.IGNORECASE,
)
_NOT_RUN_RE = re.compile(
    r"\b(?:(?:have|had|has|did|could|can) ?n[o']t|haven'?t|hasn'?t|didn'?t|couldn'?t|can'?t|never|not|no time to|without) (?:yet |even |actually |get to |got to |got round to |been able to |been )*"
    r"(?:seen it (?:fill|run|heat|cool|work|start|drain|spin)|(?:test|run|try|tri)(?:ed|ing)? (?:it|her|him|yet|the (?:machine|repair|cycle|new))|tested|been run|run (?:-|,|yet|\.|$))|"
    r"\b(?:not|un)[\s-]?tested\b|\bno test run\b|\bnot run\b",
    re.IGNORECASE,
)
_A_RE = re.compile(r"\s*(?:the|a|an|its|her|his|with|new)\b", re.IGNORECASE)
_OF_IT_RE = re.compile(r"\b(?:its|their|whose)\s*$", re.IGNORECASE)
_ALONG_RE = re.compile(r"\bwith (?:an?|the|its|some|fresh)?\s*(?:brand )?$", re.IGNORECASE)
_SKIP_WORDS = frozenset(
    "a an the new his her their its old another this that one it out in on up whole brand replacement used spare".split()
)
_STOP_WORDS = frozenset(
    "and but so then with to for from of at because since while after before i we he she it they is was now again out "
    "in on off up ran run tested test works worked still no ok".split()
)


@dataclass(frozen=True)
class Work:
    """An attempt told in sentence number `sentence`, at character `start` of it.

    `recalled` where the sentence names no component and the one spoken of last was taken.
    """

    sentence: int
    start: int
    operation: Operation
    component: str
    by: By
    chance: float
    joint_cue: bool = False
    recalled: bool = False


@dataclass(frozen=True)
class Turn:
    """A result told in sentence number `sentence`; `component` where the sentence names one."""

    sentence: int
    start: int
    result: Result
    component: str | None
    chance: float


@dataclass
class _Memory:
    """What has been spoken of so far, latest last."""

    machine: str | None
    recent: list[str]

    def note(self, mentions: Sequence[Mention]) -> None:
        self.recent += [m.component for m in mentions if not m.minor and m.component != self.machine]
        del self.recent[:-12]


def find_events(
    sentences: Sequence[Sentence], judged: Sequence[Judged], machine: str | None, lexicon: Lexicon
) -> list[Work | Turn]:
    """Find the events of one job's sentences, in the order in which they are told."""
    memory = _Memory(machine, [])
    events: list[Work | Turn] = []
    complaint: set[str] = set()
    for number, (sentence, verdict) in enumerate(zip(sentences, judged, strict=True)):
        mentions = lexicon.find_parts(sentence.text, machine, memory.recent)
        before = sentences[number - 1].text if number and not _SUBJECT_RE.match(sentence.text) else ""
        works = _find_work(number, sentence, verdict, mentions, memory, lexicon, before)
        turn = _find_turn(number, sentence, verdict, mentions, works, lexicon)
        tags = {said.name for said in lexicon.symptoms.find(sentence.text)}
        if not events and not works and verdict.kind is Kind.SYMPTOM:
            complaint |= tags
        if events and not works and verdict.kind is Kind.SYMPTOM and tags & complaint:
            turn = _same_complaint(number, turn)
        found: list[Work | Turn] = [*works, *([turn] if turn else [])]
        events += sorted(found, key=lambda event: event.start)
        memory.note(mentions)
    return events


def _find_work(
    number: int,
    sentence: Sentence,
    verdict: Judged,
    mentions: Sequence[Mention],
    memory: _Memory,
    lexicon: Lexicon,
    before: str,
) -> list[Work]:
    """Find the work of one sentence; `before` is the one that its subject stands in, where it has none of its own."""
    text, chance = sentence.text, verdict.attempt
    said = _performed(text, lexicon)
    if chance < _least_chance(verdict.kind, bool(said)) or _ACCESS_RE.search(text):
        return []
    mentions = [mention for mention in mentions if mention.component != memory.machine]
    whole = [mention for mention in mentions if not _OF_IT_RE.search(text[: mention.start])] or list(mentions)
    main = [mention for mention in whole if not mention.minor] or whole
    done: list[tuple[Said | None, str]] = [
        (op, component) for op, components in _named_components(said, main, text) for component in components
    ]
    recalled = not done
    if not done:
        unnamed = _unnamed_components(said, verdict, main, text, memory)
        done = [(said[0] if said else None, component) for component in unnamed]
        recalled = not main and any(component in memory.recent for component in unnamed)
    by, joint = _who(f"{before} {text}", verdict), _JOINT_RE.search(text) is not None
    works: dict[str, Work] = {}
    for op, component in done:
        operation = Operation(op.name) if op else _guess_operation(text, verdict)
        work = Work(number, op.start if op else 0, operation, component, by, chance, joint, recalled)
        if component not in works or operation is verdict.operation:
            works[component] = work
    return list(works.values())


def _least_chance(kind: Kind, said: bool) -> float:
    """How sure the head must be of an attempt, for a sentence of this kind that says an operation or does not."""
    if kind is Kind.RESULT:
        return _IN_A_RESULT if said else _UNLIKELY
    if kind not in (Kind.ACTION, Kind.ASIDE):
        return _UNLIKELY
    if said:
        return _WITH_OPERATION
    return _WITHOUT_OPERATION if kind is Kind.ACTION else _UNLIKELY


def _performed(text: str, lexicon: Lexicon) -> list[Said]:
    """Operations said as done: not intended, and not of what came along ("with a new gasket")."""
    wills = lexicon.intentions.find(text)
    return [
        op
        for op in lexicon.operations.find(text)
        if not any(w.start <= op.start < w.end for w in wills) and not _ALONG_RE.search(text[: op.start])
    ]


def _named_components(said: Sequence[Said], mentions: Sequence[Mention], text: str) -> list[tuple[Said, list[str]]]:
    """The components that stand beside each operation."""
    found = []
    for place, op in enumerate(said):
        until = said[place + 1].start if place + 1 < len(said) else len(text)
        since = said[place - 1].end if place else 0
        if components := _components_of(op, mentions, since, until, text):
            found.append((op, components))
    return found


def _unnamed_components(
    said: Sequence[Said], verdict: Judged, mentions: Sequence[Mention], text: str, memory: _Memory
) -> list[str]:
    """What was worked on where no component stands beside an operation."""
    if any(op.name == Operation.RESET for op in said) and _POWER_RESET_RE.search(text):
        return ["control board"]
    if mentions:
        return _joined(mentions[0], mentions[1:], text)
    for op in said:
        if unknown := _unknown_component(text[op.end :]):
            return [unknown]
    sure_enough = verdict.attempt >= (_RECALLED_COMPONENT if said else _WITHOUT_ANYTHING)
    return memory.recent[-1:] if sure_enough else []


def _guess_operation(text: str, verdict: Judged) -> Operation:
    return Operation.REPLACE if _NEW_RE.search(text) else verdict.operation


def _who(text: str, verdict: Judged) -> By:
    """Whose work it is: somebody else's when the head and a cue say so ("the last guy", "her son put")."""
    others, people, us = OTHERS_RE.search(text), _PEOPLE_RE.search(text), _US_RE.search(text)
    if not others and not (people and not us):
        return By.OTHER if verdict.by_other >= _SURELY_OTHER and not us and verdict.kind is Kind.ACTION else By.US
    return By.OTHER if verdict.by_other + (0.3 if others else 0.25) >= 0.5 else By.US


def _components_of(op: Said, mentions: Sequence[Mention], since: int, until: int, text: str) -> list[str]:
    """The components an operation was done on: those joined behind it, else those before it in its clause."""
    inside = [m for m in mentions if m.start < op.end and m.end > op.start]
    after = [m for m in mentions if op.end <= m.start < until and m.start - op.end < _REACH]
    before = [m for m in mentions if since <= m.start and m.end <= op.start and op.start - m.end < _REACH]
    if op.name == Operation.RESEAT and _PLUG_RE.search(text[op.start : min(until, op.end + _REACH)]):
        return ["connector"]
    if (
        before
        and op.name == Operation.REPLACE
        and not inside
        and not text[before[-1].end : op.start].strip()
        and not _A_RE.match(text[op.end :])
    ):
        return [m.component for m in before] if _lists_before(before, text) else [before[-1].component]
    if inside and before and _lists_before([*before, inside[0]], text):
        return [m.component for m in (*before, *inside)]
    if inside or after:
        first = (inside or after)[0]
        return _joined(first, [m for m in mentions if m.start >= first.end and m.start < until], text)
    if before:
        return [m.component for m in before] if _lists_before(before, text) else [before[-1].component]
    return []


def _joined(first: Mention, others: Sequence[Mention], text: str) -> list[str]:
    """The first component and those joined to it by "and", "plus", a comma."""
    found, end = [first.component], first.end
    for mention in others:
        between = text[end : mention.start].lower()
        if not re.fullmatch(
            r"\s*(?:,|&|\+|/|and|plus|along with|n|together with|as well as)?(?:\s*(?:and|a|an|the|new|both|plus|&))*\s*",
            between,
        ):
            break
        found.append(mention.component)
        end = mention.end
    return list(dict.fromkeys(found))


def _lists_before(before: Sequence[Mention], text: str) -> bool:
    pairs = zip(before, before[1:], strict=False)
    return len(before) > 1 and all(
        re.fullmatch(r"\s*(?:,|&|\+|/|and|plus)\s*(?:the |a |new )*", text[one.end : other.start].lower())
        for one, other in pairs
    )


def _unknown_component(text: str) -> str | None:
    """A part that the lexicon has never heard of: the nouns right behind the operation, at most three."""
    words: list[str] = []
    for token in re.findall(r"[a-z][a-z'-]+|[^a-z\s]", text.lower()):
        if token in _SKIP_WORDS and not words:
            continue
        if not token[0].isalpha() or token in _STOP_WORDS or len(words) == 3:
            break
        words.append(token)
    determined = re.match(r"\s*(?:in )?(?:a|an|the|new|his|her|its|my|another)\b", text.lower())
    return " ".join(words) if words and determined and len("".join(words)) > 3 else None


def _same_complaint(number: int, turn: Turn | None) -> Turn:
    """The complaint told again after work says that nothing changed, unless the sentence says otherwise more surely."""
    if turn and turn.chance >= _SAME_COMPLAINT:
        return turn
    return Turn(number, 0, Result.NO_CHANGE, None, _SAME_COMPLAINT)


def _find_turn(
    number: int,
    sentence: Sentence,
    verdict: Judged,
    mentions: Sequence[Mention],
    works: Sequence[Work],
    lexicon: Lexicon,
) -> Turn | None:
    if _NOT_RUN_RE.search(sentence.text):
        return Turn(number, len(sentence.text), Result.UNTESTED, None, 1.0)
    said = lexicon.results.find(sentence.text)
    last_work = max((work.start for work in works), default=-1)
    tells_result = verdict.chances["kind"][Kind.RESULT.value] >= _LIKELY_A_RESULT or bool(works)
    scores: dict[Result, float] = {}
    starts: dict[Result, int] = {}
    for name in HEADS["turn"][1:]:
        result = Result(name)
        places = [one.start for one in said if one.name == name and one.start >= last_work]
        score = verdict.turn(result) + (_RESULT_RULE_BONUS if places else 0.0)
        score += _RESULT_KIND_BONUS if verdict.kind is Kind.RESULT and verdict.turn(result) >= _HINT else 0.0
        scores[result] = score if tells_result else min(score, _ONLY_A_HINT)
        starts[result] = places[-1] if places else len(sentence.text)
    if not scores:
        return None
    best = max(scores, key=lambda result: (scores[result], starts[result]))
    if scores[best] < _HINT:
        return None
    named = mentions[0].component if mentions and not works else None
    return Turn(number, starts[best], best, named, min(scores[best], 1.0))
