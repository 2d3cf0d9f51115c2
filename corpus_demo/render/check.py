"""Checks a labelled document (script, transcript or note gold) for slips before anything is rendered."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from corpus_demo.render.script import BLINKS, MEDIA, SOUNDS

KINDS = ("symptom", "check", "cause", "action", "result", "share", "cost", "caution", "aside")
OPERATIONS = ("replace", "clean", "adjust", "reseat", "repair", "reset", "bypass")
RESULTS = ("fixed", "no_change", "partly", "came_back", "untested")
OUTCOMES = ("fixed", "not_fixed", "untested", "came_back")
DOERS = ("us", "other")
TAGS = (
    "no_start", "beeps", "blinks", "error_code", "no_heat", "overheats", "no_cool", "leaks", "noise", "no_drain",
    "no_fill", "no_spin", "wont_stop", "trips_breaker", "smell", "sparks", "door_stuck", "poor_result", "no_ice",
    "vibrates", "dead",
)  # fmt: skip
TOPICS = (
    "mains power", "capacitor", "gas", "refrigerant", "water near power", "sharp metal", "heat", "weight",
    "moving parts", "bypassed switch", "dust",
)  # fmt: skip


@dataclass
class Findings:
    """Messages about one document.

    Attributes:
        where: Name of the document, put before every message.
        pieces: Kind of every sentence or piece of the document in order; empty for a table.
        errors: What must be put right.
        doubts: What is worth a second look but may be meant so.
    """

    where: str
    pieces: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    def wrong(self, message: str) -> None:
        """Note an error."""
        self.errors.append(f"{self.where}: {message}")

    def doubt(self, message: str) -> None:
        """Note a doubt."""
        self.doubts.append(f"{self.where}: {message}")

    def one_of(self, name: str, value: object, allowed: tuple[str, ...]) -> None:
        """Note an error unless the value is one of the allowed words."""
        if value not in allowed:
            self.wrong(f"{name} is {value!r}, expected one of {', '.join(allowed)}")

    def piece(self, name: str, number: object, kinds: tuple[str, ...] = ()) -> None:
        """Check a 1-based piece number, and doubt it when the piece is of none of the kinds expected there."""
        if not self.pieces:
            if number is not None:
                self.wrong(f"{name} is {number!r}, but a table has no numbered pieces")
            return
        if not isinstance(number, int) or not 1 <= number <= len(self.pieces):
            self.wrong(f"{name} is {number!r}, expected 1 to {len(self.pieces)}")
        elif kinds and self.pieces[number - 1] not in kinds:
            self.doubt(f"{name} = {number} points at a {self.pieces[number - 1]}, expected {' or '.join(kinds)}")


def check_pieces(document: dict[str, Any], name: str, found: Findings) -> None:
    """Check the list of sentences (`say`) or pieces (`lines`) and remember their kinds."""
    pieces = document.get(name)
    if not isinstance(pieces, list) or not pieces:
        found.wrong(f"{name} is missing or empty")
        return
    for number, piece in enumerate(pieces, 1):
        entry = piece if isinstance(piece, dict) else {}
        found.pieces.append(str(entry.get("kind")))
        found.one_of(f"{name} {number}: kind", entry.get("kind"), KINDS)
        if not isinstance(entry.get("text"), str) or not entry["text"].strip():
            found.wrong(f"{name} {number}: text is {entry.get('text')!r}, expected words")
        beeps = entry.get("beeps", 0)
        if not isinstance(beeps, int) or not 0 <= beeps <= 20:
            found.wrong(f"{name} {number}: beeps is {beeps!r}, expected 0 to 20")


def check_script(document: dict[str, Any], stem: str, voices: tuple[str, ...]) -> Findings:
    """Check one script that is to be rendered.

    Args:
        document: The script as read.
        stem: The file's name without its ending; the id must be the same.
        voices: Names of the known voices; empty when any label will do (labelled transcripts).
    """
    found = Findings(stem)
    if document.get("id") != stem:
        found.wrong(f"id is {document.get('id')!r}, but the file is named {stem}")
    if voices:
        found.one_of("voice", document.get("voice"), voices)
    found.one_of("medium", document.get("medium") or "mp4", MEDIA)
    found.one_of("sound", document.get("sound") or "none", SOUNDS)
    if document.get("sidecar") is not None:
        found.one_of("sidecar", document["sidecar"], ("srt",))
    picture = document.get("picture") or {}
    found.one_of("picture: blink", picture.get("blink") or "none", BLINKS)
    if not isinstance(picture.get("lamps", 4), int) or not 0 <= picture.get("lamps", 4) <= 10:
        found.wrong(f"picture: lamps is {picture['lamps']!r}, expected 0 to 10")
    check_pieces(document, "say", found)
    check_jobs(document, found)
    return found


def check_jobs(document: dict[str, Any], found: Findings) -> None:
    """Check every job of a document; the kinds of its pieces must be in `found` already."""
    jobs = document.get("jobs")
    if not isinstance(jobs, list):
        found.wrong("jobs is missing")
        return
    for job in jobs:
        _check_job(job, found)


def _check_job(job: dict[str, Any], found: Findings) -> None:
    name = f"job {job.get('key')!r}"
    if not isinstance(job.get("key"), str):
        found.wrong(f"{name}: key must be text (put it in quotes)")
    if job.get("job_no") is not None and not isinstance(job["job_no"], str):
        found.wrong(f"{name}: job_no must be text (put it in quotes)")
    if job.get("date") is not None and not _is_date(job["date"]):
        found.wrong(f"{name}: date is {job['date']!r}, expected YYYY-MM-DD")
    if not isinstance(job.get("appliance"), str):
        found.wrong(f"{name}: appliance is missing")
    _check_symptoms(job, name, found)
    _check_statements(job, name, found)
    _check_attempts(job, name, found)
    _check_outcome(job, name, found)


def _is_date(value: object) -> bool:
    if isinstance(value, datetime.date):
        return True
    try:
        datetime.date.fromisoformat(str(value))
    except ValueError:
        return False
    return True


def _check_symptoms(job: dict[str, Any], name: str, found: Findings) -> None:
    for symptom in job.get("symptoms") or []:
        for tag in symptom.get("tags") or ["(none)"]:
            found.one_of(f"{name}: symptom tag", tag, TAGS)
        if symptom.get("count") is not None and not isinstance(symptom["count"], int):
            found.wrong(f"{name}: symptom count is {symptom['count']!r}, expected a number")
        found.piece(f"{name}: symptom at", symptom.get("at"), ("symptom",))


def _check_statements(job: dict[str, Any], name: str, found: Findings) -> None:
    """Checks, shares, costs, cautions and minutes."""
    for check in job.get("checks") or []:
        found.piece(f"{name}: check at", check.get("at"), ("check",))
        reading = check.get("reading")
        if reading is not None and not {"value", "unit"} <= set(reading):
            found.wrong(f"{name}: reading {reading!r} needs value and unit")
    for share in job.get("stated_shares") or []:
        found.piece(f"{name}: share at", share.get("at"), ("share",))
        if not 0 <= share.get("low", -1) <= share.get("high", -1) <= 1:
            found.wrong(f"{name}: share of {share.get('component')!r} must have 0 <= low <= high <= 1")
    for cost in job.get("costs") or []:
        found.piece(f"{name}: cost at", cost.get("at"), ("cost",))
        if not isinstance(cost.get("amount"), int | float):
            found.wrong(f"{name}: cost amount is {cost.get('amount')!r}, expected a number")
    for caution in job.get("cautions") or []:
        found.one_of(f"{name}: caution topic", caution.get("topic"), TOPICS)
        found.piece(f"{name}: caution at", caution.get("at"), ("caution",))
    if job.get("minutes") is not None and not isinstance(job["minutes"], int | float):
        found.wrong(f"{name}: minutes is {job['minutes']!r}, expected a number")


def _check_attempts(job: dict[str, Any], name: str, found: Findings) -> None:
    attempts = {attempt.get("order"): attempt for attempt in job.get("attempts") or []}
    orders = [attempt.get("order") for attempt in job.get("attempts") or []]
    if orders != list(range(1, len(orders) + 1)):
        found.wrong(f"{name}: attempt orders are {orders}, expected 1, 2, 3, ... in order")
    for order, attempt in attempts.items():
        where = f"{name}: attempt {order}"
        found.one_of(f"{where}: operation", attempt.get("operation"), OPERATIONS)
        found.one_of(f"{where}: result", attempt.get("result"), RESULTS)
        found.one_of(f"{where}: by", attempt.get("by", "us"), DOERS)
        if not isinstance(attempt.get("component"), str) or attempt["component"] != attempt["component"].lower():
            found.wrong(f"{where}: component is {attempt.get('component')!r}, expected a lower-case name")
        found.piece(f"{where}: at", attempt.get("at"), ("action",))
        if attempt.get("result") != "untested" or attempt.get("result_at") is not None:
            found.piece(f"{where}: result_at", attempt.get("result_at"), ("result",))
        _check_partners(attempt, attempts, where, found)


def _check_partners(attempt: dict[str, Any], attempts: dict[Any, Any], where: str, found: Findings) -> None:
    """Parts changed together name each other and share one result."""
    for partner in attempt.get("together_with") or []:
        other = attempts.get(partner)
        if other is None or partner == attempt.get("order"):
            found.wrong(f"{where}: together_with {partner} is no other attempt of this job")
        elif attempt.get("order") not in (other.get("together_with") or []):
            found.wrong(f"{where}: together_with {partner}, but attempt {partner} does not say so")
        elif other.get("result") != attempt.get("result"):
            found.wrong(f"{where}: result differs from attempt {partner}, which was done together with it")


def _check_outcome(job: dict[str, Any], name: str, found: Findings) -> None:
    outcome, cured_by = job.get("outcome"), job.get("fixed_by")
    results = {attempt.get("order"): attempt.get("result") for attempt in job.get("attempts") or []}
    found.one_of(f"{name}: outcome", outcome, OUTCOMES)
    if outcome == "fixed" and results.get(cured_by) != "fixed":
        found.wrong(f"{name}: fixed, but fixed_by {cured_by!r} has the result {results.get(cured_by)!r}")
    if outcome != "fixed" and cured_by is not None:
        found.wrong(f"{name}: outcome is {outcome}, so fixed_by must be null, not {cured_by!r}")
    if outcome != "fixed" and "fixed" in results.values():
        found.wrong(f"{name}: outcome is {outcome}, but an attempt has the result fixed")
    if outcome == "came_back" and "came_back" not in results.values():
        found.wrong(f"{name}: outcome is came_back, but no attempt has that result")
    if outcome == "untested" and "untested" not in results.values():
        found.doubt(f"{name}: outcome is untested, but no attempt has that result")
