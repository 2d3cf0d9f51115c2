"""The nouns of the program: what was said or written, and what a job is (what an answer holds is in `questions.py`).

Read this file first. Every record is frozen; each arrow of the program takes records and gives records. Times are seconds
from the start of the recording, money is an amount with an ISO 4217 code, shares are 0..1, dates are ISO 8601.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import quote


class Kind(StrEnum):
    """What a sentence of a walkthrough or note does."""

    SYMPTOM = "symptom"
    CHECK = "check"
    CAUSE = "cause"
    ACTION = "action"
    RESULT = "result"
    SHARE = "share"
    COST = "cost"
    CAUTION = "caution"
    ASIDE = "aside"


class Operation(StrEnum):
    """What was done to a component to cure the complaint."""

    REPLACE = "replace"
    CLEAN = "clean"
    ADJUST = "adjust"
    RESEAT = "reseat"
    REPAIR = "repair"
    RESET = "reset"
    BYPASS = "bypass"


class Result(StrEnum):
    """How one attempt turned out; `UNTESTED` when no run or test is said or written."""

    FIXED = "fixed"
    NO_CHANGE = "no_change"
    PARTLY = "partly"
    CAME_BACK = "came_back"
    UNTESTED = "untested"


class Outcome(StrEnum):
    """How a job ended."""

    FIXED = "fixed"
    NOT_FIXED = "not_fixed"
    UNTESTED = "untested"
    CAME_BACK = "came_back"


class By(StrEnum):
    """Who made an attempt: the shop, or somebody before it (customer, another technician)."""

    US = "us"
    OTHER = "other"


class SourceKind(StrEnum):
    """What sort of document a job was told in."""

    RECORDING = "recording"
    NOTE = "note"


@dataclass(frozen=True)
class At:
    """Where something was said (`start_s`/`end_s`) or written (`row`, 1-based, header not counted)."""

    source: str
    row: int | None = None
    start_s: float | None = None
    end_s: float | None = None

    @property
    def link(self) -> str:
        """The place as a W3C Media Fragments 1.0 link (temporal dimension, npt); a note's link is its path."""
        path = quote(self.source, safe="/:@!$&'()*+,;=~")
        if self.start_s is None or self.end_s is None:
            return path
        return f"{path}#t={_seconds(self.start_s)},{_seconds(self.end_s)}"


def _seconds(seconds: float) -> str:
    return f"{seconds:.2f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class Word:
    """One spoken word with its time; `probability` is the recogniser's, None for timed text."""

    text: str
    start_s: float
    end_s: float
    probability: float | None = None


@dataclass(frozen=True)
class Recording:
    """A recording as words with times; `path` is relative to the folder it was ingested from.

    `households` are marks of the customers named in it (`reading.households`); the names themselves are not kept.
    """

    path: str
    words: tuple[Word, ...]
    duration_s: float
    made_on: str | None = None
    households: tuple[int, ...] = ()


@dataclass(frozen=True)
class Note:
    """A written note, or one row of a table of tickets (`row`, with its cells as `fields`)."""

    path: str
    text: str
    row: int | None = None
    fields: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Sentence:
    """A sentence with its place. `text` has trade words mended; `heard` is as transcribed or written."""

    text: str
    heard: str
    at: At


@dataclass(frozen=True)
class Passage:
    """Sentences of one kind that stand together: what search finds. `told` is the number of the job in its document."""

    kind: Kind
    text: str
    at: At
    told: int = 0


@dataclass(frozen=True)
class Symptom:
    """A complaint: its words, the tags read from them, a count of beeps or blinks, an error code."""

    text: str
    tags: tuple[str, ...]
    at: At
    count: int | None = None
    code: str | None = None


@dataclass(frozen=True)
class Reading:
    """A meter's or gauge's value with its unit (ohm, volt, amp, degF, degC, psi, inH2O, ...)."""

    value: float
    unit: str


@dataclass(frozen=True)
class Check:
    """A look or measurement and what it found; `points_to` is the component it speaks of."""

    text: str
    at: At
    finding: str | None = None
    reading: Reading | None = None
    points_to: str | None = None


@dataclass(frozen=True)
class Attempt:
    """Work on a component meant to cure the complaint; `order` starts at 1 in its job.

    `confidence` (0..1) is how sure reading is of it; while it is `in_review` it waits for a person and does not count.
    """

    order: int
    operation: Operation
    component: str
    result: Result
    at: At
    by: By = By.US
    together_with: tuple[int, ...] = ()
    result_at: At | None = None
    text: str = ""
    result_text: str = ""
    confidence: float = 1.0
    in_review: bool = False


@dataclass(frozen=True)
class StatedShare:
    """How often, in the speaker's opinion, a component is the cause or the cure."""

    component: str
    low: float
    high: float
    text: str
    at: At


@dataclass(frozen=True)
class Cost:
    """A price that was said or written, of a component where one was named."""

    component: str | None
    amount: float
    currency: str
    at: At


@dataclass(frozen=True)
class Caution:
    """A hazard that was spoken of."""

    topic: str
    text: str
    at: At


@dataclass(frozen=True)
class Source:
    """A stretch of a document in which a job is told."""

    path: str
    kind: SourceKind
    row: int | None = None
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True)
class Job:
    """One repair job. As told by a single document first; joined over documents in the library.

    `households` are marks of its customer, `returning` is whether it is told as a return to earlier work.
    """

    id: str
    sources: tuple[Source, ...]
    job_no: str | None = None
    date: str | None = None
    appliance: str | None = None
    symptoms: tuple[Symptom, ...] = ()
    checks: tuple[Check, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    stated_shares: tuple[StatedShare, ...] = ()
    costs: tuple[Cost, ...] = ()
    minutes: int | None = None
    cautions: tuple[Caution, ...] = ()
    callback_of: str | None = None
    households: tuple[int, ...] = ()
    returning: bool = False
    outcome: Outcome = Outcome.UNTESTED
    fixed_by: int | None = None


@dataclass(frozen=True)
class Told:
    """What one document says: its jobs, and its passages (each pointing at one of the jobs by number)."""

    jobs: tuple[Job, ...]
    passages: tuple[Passage, ...]


@dataclass(frozen=True)
class Failure:
    """A file that could not be taken in, and why."""

    path: str
    error: str


@dataclass(frozen=True)
class IngestSummary:
    """What an ingest did."""

    added: int
    updated: int
    unchanged: int
    removed: int
    failed: tuple[Failure, ...]
    audio_s: float
    wall_s: float


@dataclass(frozen=True)
class Progress:
    """One line of progress of an ingest: which file, how far, `seconds_left` once it can be told."""

    path: str
    done: int
    total: int
    seconds_left: float | None
    message: str
