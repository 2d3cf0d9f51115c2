"""Spoken-recording scripts: reading the YAML files into typed records."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

MEDIA = ("mp4", "mov", "m4a")
SOUNDS = ("none", "radio", "hum", "music")
BLINKS = ("all", "one", "none")


class ScriptError(ValueError):
    """A script file cannot be read as a script at all."""


@dataclass(frozen=True)
class Sentence:
    """One sentence as spoken.

    Attributes:
        kind: What the sentence does in the repair story (symptom, check, ...).
        text: The words, as the synthesiser gets them.
        beeps: Number of tones the machine gives right after the sentence, 0 for none.
    """

    kind: str
    text: str
    beeps: int = 0


@dataclass(frozen=True)
class Picture:
    """What the camera sees: the machine, its number of lamps, and which lamps blink with the beeps."""

    machine: str = "dishwasher"
    lamps: int = 4
    blink: str = "none"


@dataclass(frozen=True)
class Script:
    """A spoken recording before it is rendered; `jobs` stays as written, for the gold file."""

    id: str
    voice: str
    medium: str
    sound: str
    sidecar: str | None
    picture: Picture
    sentences: tuple[Sentence, ...]
    jobs: list[dict[str, Any]] = field(default_factory=list)

    @property
    def media_name(self) -> str:
        """File name of the rendered recording."""
        return f"{self.id}.{self.medium}"

    @property
    def first_date(self) -> str | None:
        """ISO date of the first dated job, None when no date is said."""
        dates = [str(job["date"]) for job in self.jobs if job.get("date")]
        return dates[0] if dates else None


def read_document(path: Path) -> dict[str, Any]:
    """Read one YAML file that must hold a mapping.

    Raises:
        ScriptError: The file is not YAML, or is not a mapping.
    """
    try:
        document = yaml.safe_load(path.read_text(encoding="utf-8"))
    except yaml.YAMLError as problem:
        raise ScriptError(f"{path.name}: not valid YAML: {problem}") from problem
    if not isinstance(document, dict):
        raise ScriptError(f"{path.name}: expected a mapping at the top")
    return document


def script_from(document: dict[str, Any]) -> Script:
    """Build the record of one script; the document must have passed the checks."""
    jobs: list[dict[str, Any]] = document.get("jobs") or []
    seen: dict[str, Any] = document.get("picture") or {}
    machine = seen.get("machine") or (jobs[0].get("appliance") if jobs else None) or "dishwasher"
    return Script(
        id=str(document["id"]),
        voice=str(document["voice"]),
        medium=str(document.get("medium") or "mp4"),
        sound=str(document.get("sound") or "none"),
        sidecar=document.get("sidecar"),
        picture=Picture(str(machine), int(seen.get("lamps", 4)), str(seen.get("blink") or "none")),
        sentences=tuple(Sentence(s["kind"], s["text"], int(s.get("beeps") or 0)) for s in document["say"]),
        jobs=jobs,
    )


def script_paths(folder: Path, only: str | None = None) -> list[Path]:
    """List the script files of a folder in name order, or just the one with the given id."""
    paths = sorted(folder.glob("*.yaml"))
    return [path for path in paths if only is None or path.stem == only]
