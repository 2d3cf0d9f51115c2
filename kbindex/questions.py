"""What is asked, and what is answered: counted fixes, the order to try them in, checks, cautions, passages."""

from __future__ import annotations

from dataclasses import dataclass

from kbindex.records import At, Kind, Operation, StatedShare


@dataclass(frozen=True)
class AskedSymptom:
    """One symptom as asked for."""

    tag: str
    count: int | None = None
    code: str | None = None


@dataclass(frozen=True)
class Question:
    """A question as it was understood."""

    text: str
    appliance: str | None
    symptoms: tuple[AskedSymptom, ...]
    components: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rate:
    """`k` of `of` with a 95 % interval; with no trials the three values are None, never 0."""

    k: int
    of: int
    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Spread:
    """Median and range of `n` numbers (minutes; money when `currency` is set)."""

    median: float
    low: float
    high: float
    n: int
    currency: str | None = None


@dataclass(frozen=True)
class Clip:
    """A stretch worth playing: an action, or the result that followed."""

    kind: Kind
    text: str
    job: str
    at: At


@dataclass(frozen=True)
class Fix:
    """One way to cure the complaint, counted over the matched jobs (never over passages)."""

    component: str
    operation: Operation
    fixed: int
    tried: int
    untested: int
    share: Rate
    when_tried: Rate
    stated: tuple[StatedShare, ...]
    part_cost: Spread | None
    minutes: Spread | None
    clips: tuple[Clip, ...]
    jobs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """One step of the advised order. `cost` is None where the shop's jobs give no price for the part."""

    step: int
    component: str
    operation: Operation
    chance: float
    cost: float | None
    expected_cost_from_here: float | None
    currency: str
    why: str


@dataclass(frozen=True)
class FoundCheck:
    """A check made in a matched job."""

    text: str
    finding: str | None
    points_to: str | None
    job: str
    at: At


@dataclass(frozen=True)
class HazardRule:
    """A caution to show with an answer: the general rule and where it comes from."""

    topic: str
    text: str
    reference: str


@dataclass(frozen=True)
class FoundPassage:
    """A passage found for the question; `score` is its fused similarity, 0..1, larger is better."""

    kind: Kind
    text: str
    score: float
    job: str | None
    at: At


@dataclass(frozen=True)
class Answer:
    """All that the library says to a question; `nothing_found` when it holds nothing like it.

    `left_for_review` attempts of the matched jobs are in no count, for they wait for a person's word.
    """

    query: Question
    jobs_matched: int
    nothing_found: bool
    fixes: tuple[Fix, ...] = ()
    order: tuple[Step, ...] = ()
    checks: tuple[FoundCheck, ...] = ()
    cautions: tuple[HazardRule, ...] = ()
    passages: tuple[FoundPassage, ...] = ()
    jobs: tuple[str, ...] = ()
    left_for_review: int = 0
