"""Checks the gold of written notes: the pieces must be the note's own words, in order, with none left out."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from corpus_demo.render.check import Findings, check_jobs, check_pieces
from corpus_demo.render.script import ScriptError, read_document

_WORD = re.compile(r"\w+")


def check_notes(notes: Path, gold: Path) -> list[Findings]:
    """Check every note-gold file of a folder against its note.

    Args:
        notes: Folder of the notes (`<stem>.md`, `.txt`, `.csv`).
        gold: Folder of their gold (`<stem>.<ext>.yaml`).

    Returns:
        One set of findings for each gold file, plus one for each note that has no gold.
    """
    findings = [_check_one(path, notes) for path in sorted(gold.glob("*.yaml"))]
    labelled = {path.stem for path in gold.glob("*.yaml")}
    for note in sorted(notes.iterdir()):
        if note.suffix in (".md", ".txt", ".csv") and note.name not in labelled:
            lone = Findings(note.name)
            lone.wrong("has no gold file")
            findings.append(lone)
    return findings


def _check_one(path: Path, notes: Path) -> Findings:
    found = Findings(path.stem)
    try:
        document = read_document(path)
    except ScriptError as problem:
        found.wrong(str(problem))
        return found
    note = notes / str(document.get("source"))
    if document.get("source") != path.stem or not note.is_file():
        found.wrong(f"source is {document.get('source')!r}, expected the note {path.stem}")
        return found
    if note.suffix == ".csv":
        _check_rows(document, note, found)
    else:
        check_pieces(document, "lines", found)
        if note.suffix in (".md", ".txt"):
            _check_words(document, note.read_text(encoding="utf-8"), found)
        else:
            found.doubt("not plain text: its words were not compared with the pieces")
    check_jobs(document, found)
    return found


def _check_rows(document: dict[str, Any], note: Path, found: Findings) -> None:
    """Every job of a table names a row; the table may have lines broken inside quotes, so only a rough upper bound."""
    lines = len(note.read_text(encoding="utf-8").splitlines())
    for job in document.get("jobs") or []:
        row = job.get("row")
        if not isinstance(row, int) or not 1 <= row < lines:
            found.wrong(f"job {job.get('key')!r}: row is {row!r}, expected 1 to {lines - 1}")


def _check_words(document: dict[str, Any], text: str, found: Findings) -> None:
    """Walk through the note piece by piece; what lies between two pieces may hold no word."""
    cursor = 0
    for number, piece in enumerate(document.get("lines") or [], 1):
        words = str(piece.get("text", "")) if isinstance(piece, dict) else ""
        start = text.find(words, cursor)
        if start < 0:
            found.wrong(f"lines {number}: {words[:60]!r} does not come here in the note")
            continue
        _no_words_left(text[cursor:start], f"before lines {number}", found)
        cursor = start + len(words)
    _no_words_left(text[cursor:], "after the last piece", found)


def _no_words_left(gap: str, where: str, found: Findings) -> None:
    if _WORD.search(gap):
        found.wrong(f"words in no piece {where}: {gap.strip()[:80]!r}")
