"""Where one job ends and the next begins in a recording or note that goes from machine to machine."""

from __future__ import annotations

import re
from collections.abc import Sequence

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
_SURE, _POSSIBLE = 0.5, 0.03
"""Chances of the head from which a job opens, and from which other signs are looked at."""
_NEAR_NUMBERS = 50


def split_jobs(sentences: Sequence[Sentence], openings: Sequence[float], lexicon: Lexicon) -> list[tuple[int, int]]:
    """Give the (start, end) of each job's sentences; one stretch for a document about one machine.

    A new job begins where the head for it is sure (`openings` are its chances), and where another machine is named in a
    sentence that says so ("next one", "while we're here") or under a second job number, provided that more is told of that
    machine than its name and the head does not think it out of the question.
    """
    machines = [{said.name for said in lexicon.find_machines(sentence.text)} for sentence in sentences]
    starts = [0]
    current = _only(machines[0]) if machines else None
    own = {number for number, _ in find_job_numbers(sentences[0].text)} if sentences else set()
    own |= {opening for opening in [find_leading_number(sentences[0].text)] if opening} if sentences else set()
    for place in range(1, len(sentences)):
        number = find_leading_number(sentences[place].text) if sentences[place].at.start_s is None else None
        if number and not own and len(number) >= 4:
            own.add(number)
        elif number and _is_next_number(number, own) and place - starts[-1] >= 2:
            starts.append(place)
            current = min(machines[place], default=current)
            own.add(number)
            continue
        others = machines[place] - ({current} if current else set())
        if openings[place] >= _SURE and place - starts[-1] >= 2:
            starts.append(place)
            current = min(others or machines[place], default=None)
            continue
        if current is None and machines[place]:
            current = _only(machines[place])
            continue
        if (
            others
            and openings[place] >= _POSSIBLE
            and place - starts[-1] >= _SHORTEST
            and _begins_job(place, others, machines, sentences, own)
        ):
            starts.append(place)
            current = min(others)
    return [(start, end) for start, end in zip(starts, [*starts[1:], len(sentences)], strict=True)]


def _begins_job(
    place: int, others: set[str], machines: Sequence[set[str]], sentences: Sequence[Sentence], own: set[str]
) -> bool:
    text = sentences[place].text
    told_more = sum(bool(others & named) for named in machines[place:]) >= 2 or len(sentences) - place >= 6
    new_number = any(number not in own for number, _ in find_job_numbers(text)) and bool(own)
    return told_more and (new_number or _SWITCH_RE.search(text) is not None)


def _only(names: set[str]) -> str | None:
    """The one machine named; None where a sentence names none, or several."""
    return next(iter(names)) if len(names) == 1 else None


def _is_next_number(number: str, own: set[str]) -> bool:
    """Whether a figure that opens a line is another job's number: as long as the first one's, and not far from it."""
    return number not in own and any(
        len(number) == len(one) and number.isdigit() and one.isdigit() and abs(int(number) - int(one)) <= _NEAR_NUMBERS
        for one in own
    )
