"""How much speaks for two tellings being of one job: what agrees is counted, what contradicts rules it out.

The weights are common practice, no source: a day, a household or a price rarely agree by chance; a machine often does.
"""

from __future__ import annotations

from datetime import date

from kbindex.doubts import Agreement
from kbindex.records import Job, SourceKind

SAME_JOB = 5
"""Points from which a film and a note are the same job."""
PERHAPS_SAME_JOB = 3
"""Points from which a person should look at them."""
_DAY, _HOUSEHOLD, _ATTEMPT, _COMPLAINT, _PRICE, _MINUTES, _CODE, _READING = 3, 3, 1, 1, 1, 2, 2, 1
_MOST_ATTEMPTS, _MOST_PRICES, _MOST_READINGS = 3, 2, 2
_DAYS_APART = 1
"""A note is often dated a day later than the film."""


def are_of_two_kinds(one: Job, other: Job) -> bool:
    """Whether one telling was filmed and the other written."""
    kinds = {source.kind for job in (one, other) for source in job.sources}
    return len(one.sources) == len(other.sources) == 1 and kinds == {SourceKind.RECORDING, SourceKind.NOTE}


def contradict(one: Job, other: Job) -> bool:
    """Whether number, machine or day say that two tellings are of different jobs."""
    numbers = one.job_no and other.job_no and one.job_no != other.job_no
    machines = one.appliance and other.appliance and one.appliance != other.appliance
    days = one.date and other.date and abs(_days_between(one.date, other.date)) > _DAYS_APART
    return bool(numbers or machines or days)


def count_agreements(one: Job, other: Job) -> int:
    """Count points for what two tellings of a machine have in common; none where neither complaint nor work agrees."""
    return sum(agreement.points for agreement in find_agreements(one, other))


def find_agreements(one: Job, other: Job) -> list[Agreement]:
    """Name what two tellings of a machine have in common; nothing where neither complaint nor work agrees."""
    work = sorted(_attempts(one) & _attempts(other))[:_MOST_ATTEMPTS]
    tags = sorted(tags_of(one) & tags_of(other))
    if not one.appliance or one.appliance != other.appliance or not (work or tags):
        return []
    prices = sorted(_prices(one) & _prices(other))[:_MOST_PRICES]
    codes = sorted(map(str, _codes(one) & _codes(other)))
    readings = sorted(_readings(one) & _readings(other))[:_MOST_READINGS]
    found = [Agreement("day", one.date, _DAY)] if one.date and one.date == other.date else []
    found += [Agreement("household", "", _HOUSEHOLD)] if set(one.households) & set(other.households) else []
    found += [Agreement("work", f"{operation} {component}", _ATTEMPT) for component, operation in work]
    found += [Agreement("complaint", ", ".join(tags), _COMPLAINT)] if tags else []
    found += [Agreement("price", f"{price:g}", _PRICE) for price in prices]
    found += [Agreement("time", f"{one.minutes} min", _MINUTES)] if one.minutes and one.minutes == other.minutes else []
    found += [Agreement("code or count", ", ".join(codes), _CODE)] if codes else []
    return found + [Agreement("reading", f"{value:g} {unit}", _READING) for value, unit in readings]


def returns_to(later: Job, earlier: Job) -> bool:
    """Whether a job is about the same machine at the same household as an earlier one, with its complaint again."""
    if not later.appliance or later.appliance != earlier.appliance or not set(later.households) & set(earlier.households):
        return False
    if later.job_no and later.job_no == earlier.job_no:
        return False
    if later.date and earlier.date:
        return _days_between(earlier.date, later.date) > _DAYS_APART and (
            later.returning or bool(tags_of(later) & tags_of(earlier))
        )
    return later.returning and not earlier.returning


def tags_of(job: Job) -> set[str]:
    """The symptom tags of a job."""
    return {tag for symptom in job.symptoms for tag in symptom.tags}


def _attempts(job: Job) -> set[tuple[str, str]]:
    return {(attempt.component, attempt.operation.value) for attempt in job.attempts}


def _prices(job: Job) -> set[float]:
    return {cost.amount for cost in job.costs}


def _codes(job: Job) -> set[str | int]:
    return {mark for symptom in job.symptoms for mark in (symptom.code, symptom.count) if mark is not None}


def _readings(job: Job) -> set[tuple[float, str]]:
    return {(check.reading.value, check.reading.unit) for check in job.checks if check.reading}


def _days_between(earlier: str, later: str) -> int:
    return (date.fromisoformat(later) - date.fromisoformat(earlier)).days
