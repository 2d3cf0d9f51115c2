"""The demo corpus with its gold: media and notes as a shop would have them, and beside them what is true of each."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

CORPUS = Path(__file__).resolve().parent.parent / "corpus_demo"
PARTS = ("shop", "held_out")


@dataclass(frozen=True)
class GoldLine:
    """One sentence or piece of an item: its number, its kind, its text, its time in a recording."""

    number: int
    kind: str
    text: str
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True)
class GoldItem:
    """What is true of one recording or file of notes; `path` is its name in the library."""

    path: str
    lines: tuple[GoldLine, ...]
    jobs: tuple[dict[str, Any], ...]

    @property
    def spoken(self) -> bool:
        """Whether the item is a recording."""
        return any(line.start_s is not None for line in self.lines)


@dataclass(frozen=True)
class CorpusPart:
    """A folder to ingest with its gold: `jobs` by key after joining, `families` with counted fixes, `questions`."""

    name: str
    folder: Path
    items: tuple[GoldItem, ...]
    jobs: tuple[dict[str, Any], ...]
    families: tuple[dict[str, Any], ...]
    questions: tuple[dict[str, Any], ...]
    private: tuple[str, ...]


def load_part(name: str) -> CorpusPart:
    """Load one part of the corpus: "shop" (looked at while building) or "held_out" (only scored)."""
    gold = CORPUS / "gold" / name
    truths = [_read_yaml(file) for file in sorted(gold.glob("truth*.yaml"))]
    families = [one["family"] for one in truths if "family" in one]
    families += [family for one in truths for family in one.get("families", ())]
    return CorpusPart(
        name=name,
        folder=CORPUS / name,
        items=(*_recordings(gold / "recordings"), *_notes(gold / "notes")),
        jobs=tuple(job for one in truths for job in one["jobs"]),
        families=tuple(families),
        questions=tuple(_read_yaml(gold / "questions.yaml")["questions"]) if (gold / "questions.yaml").is_file() else (),
        private=tuple(one["text"] for one in _read_yaml(gold / "private.yaml")["private"])
        if (gold / "private.yaml").is_file()
        else (),
    )


def _read_yaml(file: Path) -> dict[str, Any]:
    data: dict[str, Any] = yaml.safe_load(file.read_text(encoding="utf-8"))
    return data


def _recordings(folder: Path) -> Iterator[GoldItem]:
    for file in sorted(folder.glob("*.json")):
        data = json.loads(file.read_text(encoding="utf-8"))
        lines = tuple(GoldLine(s["n"], s["kind"], s["text"], s["start_s"], s["end_s"]) for s in data["sentences"])
        yield GoldItem(f"recordings/{data['media']}", lines, tuple(data["jobs"]))


def _notes(folder: Path) -> Iterator[GoldItem]:
    for file in sorted(folder.glob("*.yaml")):
        data = _read_yaml(file)
        yield GoldItem(f"notes/{file.stem}", tuple(_lines(data)), tuple(data.get("jobs") or ()))


def _lines(data: Mapping[str, Any]) -> Iterator[GoldLine]:
    for number, entry in enumerate(data.get("lines") or (), start=1):
        yield GoldLine(number, entry["kind"], entry["text"])
