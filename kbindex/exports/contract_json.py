"""Records as the JSON that commands print: plain values, every place with its link."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

from kbindex.doubts import Waiting
from kbindex.questions import Answer
from kbindex.records import At, IngestSummary, Job


def answer_json(answer: Answer) -> str:
    """Write an answer as `kbindex ask --json` prints it."""
    return _dump(_to_plain(answer))


def library_json(jobs: Sequence[Job]) -> str:
    """Write all jobs as `kbindex export --json` prints them."""
    return _dump({"format": "kbindex/1", "jobs": [_to_plain(job) for job in jobs]})


def job_json(job: Job) -> str:
    """Write one job."""
    return _dump(_to_plain(job))


def summary_json(summary: IngestSummary) -> str:
    """Write what an ingest did as `kbindex ingest --json` prints it."""
    return _dump(_to_plain(summary))


def waiting_json(waiting: Waiting) -> str:
    """Write what waits for a person as `kbindex review --json` prints it."""
    return _dump(_to_plain(waiting))


def _dump(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1)


def _to_plain(value: object) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, At):
        at = replace(value, start_s=_round_time(value.start_s), end_s=_round_time(value.end_s))
        return {"source": at.source, "row": at.row, "start_s": at.start_s, "end_s": at.end_s, "link": at.link}
    if is_dataclass(value) and not isinstance(value, type):
        plain = {field.name: _to_plain(getattr(value, field.name)) for field in fields(value)}
        return {name: _round_time(one) if name.endswith("_s") else one for name, one in plain.items()}
    if isinstance(value, Mapping):
        return {str(name): _to_plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list):
        return [_to_plain(one) for one in value]
    return value


def _round_time(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)
