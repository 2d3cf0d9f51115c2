"""Labelled documents: transcripts and notes with the kind and event of every sentence, and the jobs that they tell.

A transcript is a YAML file with `say`; a note is the real file with a YAML of the same name plus `.yaml` beside it (or in a
folder of gold files). Times of transcripts are made up from a usual rate of speech. Files of snippets (`eval.snippets`) hold
many short documents each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from eval.corpus import GoldItem
from eval.snippets import SNIPPETS, read_snippets
from kbindex.records import At, Recording, Sentence, SourceKind, Word

_SECONDS_A_WORD = 0.36
_PAUSE_S = 0.45


@dataclass(frozen=True)
class Label:
    """What one sentence is: its kind, whether an attempt is told, which result is told."""

    kind: str
    attempt: str
    turn: str


@dataclass(frozen=True)
class LabelledDocument:
    """A document with its labels; `jobs` are in the contract's form, `at` being the number of a sentence."""

    path: str
    file: Path
    voice: str
    form: SourceKind
    raw: bool
    sentences: tuple[Sentence, ...]
    labels: tuple[Label, ...]
    jobs: tuple[dict[str, Any], ...]
    private: tuple[str, ...] = ()


def load_labelled(folder: Path) -> list[LabelledDocument]:
    """Load all labelled documents under a folder, by name; tables have jobs but no sentences."""
    whole = [_load(file, folder) for file in sorted(folder.rglob("*.yaml"))]
    files = sorted(folder.rglob(f"*{SNIPPETS}"))
    return [*whole, *(snippet for file in files for snippet in _load_snippets(file, folder))]


def _load(file: Path, folder: Path) -> LabelledDocument:
    data = yaml.safe_load(file.read_text(encoding="utf-8"))
    spoken = "say" in data
    path = file.relative_to(folder).as_posix().removesuffix(".yaml") + (".vtt" if spoken else "")
    return _document(data, path, file if spoken else file.with_suffix(""))


def _load_snippets(file: Path, folder: Path) -> Iterator[LabelledDocument]:
    path = file.relative_to(folder).as_posix()
    for number, data in enumerate(read_snippets(file.read_text(encoding="utf-8"), file.stem), start=1):
        yield _document(data, f"{path}#{number}", file)


def _document(data: dict[str, Any], path: str, file: Path) -> LabelledDocument:
    spoken = "say" in data
    entries = data.get("say") or data.get("lines") or []
    timed = list(_timed([entry["text"] for entry in entries])) if spoken else [(None, None)] * len(entries)
    sentences = tuple(
        Sentence(entry["text"], entry["text"], At(path, None, start, end))
        for entry, (start, end) in zip(entries, timed, strict=True)
    )
    labels = tuple(_label(entry, number, data) for number, entry in enumerate(entries, start=1))
    return LabelledDocument(
        path=path,
        file=file,
        voice=str(data.get("voice", "")),
        form=SourceKind.RECORDING if spoken else SourceKind.NOTE,
        raw=data.get("captions") == "raw",
        sentences=sentences,
        labels=labels,
        jobs=tuple(data.get("jobs") or ()),
        private=tuple(map(str, data.get("private") or ())),
    )


def from_corpus(items: Iterable[GoldItem], folder: Path) -> list[LabelledDocument]:
    """The items of a part of the demo corpus in the same form; its files lie under `folder`."""
    documents = []
    for item in items:
        entries: list[dict[str, Any]] = [{"kind": line.kind} for line in item.lines]
        sentences = [Sentence(line.text, line.text, At(item.path, None, line.start_s, line.end_s)) for line in item.lines]
        labels = [_label(entry, number, {"jobs": item.jobs}) for number, entry in enumerate(entries, start=1)]
        form = SourceKind.RECORDING if item.spoken else SourceKind.NOTE
        file = folder / item.path
        documents.append(LabelledDocument(item.path, file, "shop", form, False, tuple(sentences), tuple(labels), item.jobs))
    return documents


def _label(entry: dict[str, Any], number: int, data: dict[str, Any]) -> Label:
    """Events are labelled in place; where they are not, the jobs' attempts tell which sentence told them."""
    attempts = [attempt for job in data.get("jobs") or () for attempt in job.get("attempts") or ()]
    here = [attempt for attempt in attempts if attempt.get("at") == number]
    attempted = "yes" if here or entry.get("event") == "attempt" else "no"
    said = entry.get("also") if entry.get("event") == "attempt" else entry.get("event")
    shown = sorted(one["result"] for one in attempts if one.get("result_at") == number and one["result"] != "untested")
    turn = said or (shown[0] if shown else "none")
    return Label(
        kind=entry["kind"],
        attempt=attempted,
        turn=str(turn),
    )


def _timed(texts: list[str]) -> Iterator[tuple[float, float]]:
    at_s = 1.0
    for text in texts:
        end_s = at_s + len(text.split()) * _SECONDS_A_WORD
        yield round(at_s, 2), round(end_s, 2)
        at_s = end_s + _PAUSE_S


def as_recording(document: LabelledDocument) -> Recording:
    """The words of a transcript with times; raw captions run on without a pause between sentences."""
    words: list[Word] = []
    at_s = 1.0
    for sentence in document.sentences:
        for word in sentence.text.split():
            words.append(Word(word, round(at_s, 2), round(at_s + _SECONDS_A_WORD - 0.02, 2)))
            at_s += _SECONDS_A_WORD
        at_s += 0.0 if document.raw else _PAUSE_S
    return Recording(document.path, tuple(words), at_s)
