"""Which jobs are about what was asked.

A job matches through its read symptoms, not through likeness of words alone. Signals that tell faults apart (beeps, blinks,
codes) weigh more than what half of all calls have in common ("won't start"). A code or a count that contradicts the asked
one rules a job out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kbindex.questions import AskedSymptom, Question
from kbindex.records import Job

_WEIGHTS: Mapping[str, float] = {"no_start": 1.0, "dead": 1.0, "poor_result": 1.0}
_USUAL_WEIGHT = 2.0
_NEAR: Mapping[frozenset[str], float] = {
    frozenset(("no_start", "dead")): 1.0,
    frozenset(("beeps", "blinks")): 0.5,
    frozenset(("blinks", "error_code")): 0.5,
    frozenset(("noise", "vibrates")): 0.5,
    frozenset(("no_heat", "poor_result")): 0.25,
}
_ENOUGH = 0.6
_SIGNALS = frozenset(("beeps", "blinks", "error_code"))
_IDLE = frozenset(("no_start", "dead"))
_OTHER_FAULT = 0.2
"""What a job loses that has only a part of what was asked, and a fault that was not asked for ("beeps and won't drain")."""


def match_jobs(question: Question, jobs: Sequence[Job], alike: Mapping[str, float], alike_enough: float) -> list[Job]:
    """Give the jobs that the question is about: those with its complaint, else those with work on a part that it names.

    `alike` is the best similarity (cosine) of a job's symptom passages to the question; it decides only where the question
    names no symptom that is known, and then at `alike_enough`.
    """
    fitting = [job for job in jobs if question.appliance is None or job.appliance == question.appliance]
    complaint = [job for job in fitting if match_share(question.symptoms, job) >= _ENOUGH]
    if complaint:
        return complaint
    if question.components:
        wanted = set(question.components)
        return [job for job in fitting if any(attempt.component in wanted for attempt in job.attempts)]
    if question.symptoms:
        return []
    return [job for job in fitting if alike.get(job.id, 0.0) >= alike_enough]


def match_share(asked: Sequence[AskedSymptom], job: Job) -> float:
    """How much of what was asked the job has, 0..1; 0 where a code or a count contradicts."""
    if not asked or _contradicts(asked, job):
        return 0.0
    tags = {tag for symptom in job.symptoms for tag in symptom.tags}
    total = sum(_weight(one.tag) for one in asked)
    share = sum(_weight(one.tag) * _nearness(one.tag, tags) for one in asked) / total
    other_fault = tags - {one.tag for one in asked} - _SIGNALS - _IDLE
    return max(share - _OTHER_FAULT, 0.0) if share < 1 and other_fault else share


def _contradicts(asked: Sequence[AskedSymptom], job: Job) -> bool:
    counts = {symptom.count for symptom in job.symptoms if symptom.count is not None}
    codes = {symptom.code for symptom in job.symptoms if symptom.code}
    wrong_count = any(one.count is not None and counts and one.count not in counts for one in asked)
    wrong_code = any(one.code and codes and one.code not in codes for one in asked)
    return wrong_count or wrong_code


def _weight(tag: str) -> float:
    return _WEIGHTS.get(tag, _USUAL_WEIGHT)


def _nearness(tag: str, tags: set[str]) -> float:
    if tag in tags:
        return 1.0
    return max((_NEAR.get(frozenset((tag, other)), 0.0) for other in tags), default=0.0)
