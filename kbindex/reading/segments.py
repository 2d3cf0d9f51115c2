"""Where one job ends and the next begins in a recording or note that goes from machine to machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.reading.labels import find_job_numbers, find_leading_number
from kbindex.reading.lexicon import Lexicon
from kbindex.records import Sentence

_SWITCH_RE = re.compile(
    r"\b(?:next (?:one|up|job|machine|stop|call|house|patient|customer)|second (?:one|job|machine|call|stop|unit|appliance)|other (?:one|job|machine|unit|appliance|thing)|"
    r"also (?:had|has|wants?|asked|got|looked|while)|while (?:i'm|we're|i am|we are|i was|we were) (?:here|there|at it|still)|moving on|on to the|onto the|stop (?:two|2)|job (?:two|2)\b|"
    r"last (?:one|job) (?:today|of the day)|same (?:house|kitchen|customer|address|basement|visit)|over to the|now (?:for )?the|(?:scoot|head|hop|walk|slid|step)\w* over to|now (?:her|his|their) |part two|number two|"
    r"and (?:her|his|their|the) (?:other|second)|different (?:machine|job)|two (?:machines|jobs|units) (?:here|today)|then the)",
    re.IGNORECASE,
)
_SHORTEST = 4
_SURE, _LIKELY, _NAMED, _POSSIBLE = 0.97, 0.3, 0.06, 0.03
"""Chances of the head from which a job opens: by itself; where the next sentences name another machine; where it names one
itself; and where besides it says that it goes on to another."""
_SOON, _ON = 3, 15
"""So many sentences may pass until another machine is named, and in so many it must be spoken of more than the one before."""
_NEAR_NUMBERS = 50
_ONE_MACHINE = ({"range", "oven", "cooktop"}, {"refrigerator", "freezer", "ice maker"})
"""Names that may all be said of one machine and its compartments."""


@dataclass(frozen=True)
class _Talk:
    """Sentences with the machines named in each, the head's chance that each opens a job, and the job numbers met so far."""

    sentences: Sequence[Sentence]
    machines: Sequence[set[str]]
    openings: Sequence[float]
    numbers: set[str]

    def count(self, machine: str, place: int) -> int:
        """In how many of the next sentences a machine is named."""
        return sum(machine in named for named in self.machines[place : place + _ON])


def split_jobs(sentences: Sequence[Sentence], openings: Sequence[float], lexicon: Lexicon) -> list[tuple[int, int]]:
    """Give the (start, end) of each job's sentences; one stretch for a document about one machine.

    A new job begins where another machine is named that is spoken of more than the one before from there on, and the head for
    openings (`openings` are its chances), the words ("next one", "while we're here") or a second job number say so; and where
    the head is all but certain.
    """
    if not sentences:
        return [(0, 0)]
    talk = _Talk(sentences, [{said.name for said in lexicon.find_machines(one.text)} for one in sentences], openings, set())
    talk.numbers.update(number for number, _ in find_job_numbers(sentences[0].text))
    talk.numbers.update(filter(None, [find_leading_number(sentences[0].text)]))
    starts, current = [0], _only(talk.machines[0])
    for place in range(1, len(sentences)):
        number = find_leading_number(sentences[place].text) if sentences[place].at.start_s is None else None
        if number and not talk.numbers and len(number) >= 4:
            talk.numbers.add(number)
        elif number and _is_next_number(number, talk.numbers) and place - starts[-1] >= 2:
            talk.numbers.add(number)
            starts.append(place)
            current = min(talk.machines[place], default=current)
            continue
        if current is None:
            current = _only(talk.machines[place])
        elif place - starts[-1] >= (2 if openings[place] >= _LIKELY else _SHORTEST):
            other = _next_machine(talk, place, current)
            if openings[place] >= _SURE or (other and _begins_job(talk, place, current, other)):
                starts.append(place)
                current = other
    return [(start, end) for start, end in zip(starts, [*starts[1:], len(sentences)], strict=True)]


def _next_machine(talk: _Talk, place: int, current: str) -> str | None:
    """Another machine, named soon, of which more is told from here on than of the current one."""
    soon = set[str]().union(*talk.machines[place : place + _SOON]) - {current}
    best = max(sorted(soon), key=lambda one: talk.count(one, place), default=None)
    return best if best and talk.count(best, place) > talk.count(current, place + 1) else None


def _begins_job(talk: _Talk, place: int, current: str, other: str) -> bool:
    """Whether signs enough say that from here on another machine is told of."""
    chance = talk.openings[place]
    if chance >= _LIKELY:
        return True
    often = talk.count(other, place) > max(1, talk.count(current, place))
    one_machine = any({current, other} <= names for names in _ONE_MACHINE)
    if chance < _POSSIBLE or not often or other not in talk.machines[place] or one_machine:
        return False
    text = talk.sentences[place].text
    new_number = bool(talk.numbers) and any(number not in talk.numbers for number, _ in find_job_numbers(text))
    return chance >= _NAMED or new_number or _SWITCH_RE.search(text) is not None


def _only(names: set[str]) -> str | None:
    """The one machine named; None where a sentence names none, or several."""
    return next(iter(names)) if len(names) == 1 else None


def _is_next_number(number: str, own: set[str]) -> bool:
    """Whether a figure that opens a line is another job's number: as long as the first one's, and not far from it."""
    return number not in own and any(
        len(number) == len(one) and number.isdigit() and one.isdigit() and abs(int(number) - int(one)) <= _NEAR_NUMBERS
        for one in own
    )
