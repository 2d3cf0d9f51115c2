"""An ingest that is killed loses nothing that was in, and the next one goes on from there; two at once take turns."""

from __future__ import annotations

import json
import random
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import light
import pytest
from command import Done, run_main

from kbindex.store.library import DATABASE, Library

NOTE_COUNT = 40
PAUSE_S = 0.01
"""Rest before a document's vectors: with it a document takes some 20 ms, so that kills fall into all of its stages."""

_MACHINES = ("dishwasher", "washer", "dryer", "refrigerator", "range")
_COMPLAINTS = ("won't start, three beeps", "leaks on the floor", "no heat at all", "is dead", "makes a loud noise")
_WORK = ("Replaced the door latch", "Replaced the control board", "Cleaned the drain pump", "Replaced the thermal fuse")
_ENDS = ("Ran a full cycle, works fine", "No change, still the same", "Did not run it yet")


def seeded_moments() -> list[tuple[str, float]]:
    """Twelve moments: (the progress line after which to kill, seconds to wait after it)."""
    chance = random.Random(20260302)
    reading = [f"[{number}/{NOTE_COUNT}] reading" for number in sorted(chance.sample(range(1, NOTE_COUNT + 1), 8))]
    ends = [f"[{NOTE_COUNT}/{NOTE_COUNT}] {stage}" for stage in ("joining jobs", "building the index")]
    return [(line, round(chance.uniform(0, 0.02), 4)) for line in reading] + [
        (line, round(chance.uniform(0, most), 4)) for line in ends for most in (0.0, 0.004)
    ]


@pytest.fixture(scope="module")
def many_notes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("many") / "notes"
    folder.mkdir()
    chance = random.Random(7)
    for number in range(3000, 3000 + NOTE_COUNT):
        machine, complaint = chance.choice(_MACHINES), chance.choice(_COMPLAINTS)
        text = f"Job {number}. The {machine} {complaint}.\n{chance.choice(_WORK)}. {chance.choice(_ENDS)}.\n"
        (folder / f"{number}-{machine}.txt").write_text(text, encoding="utf-8")
    return folder


def run_light(*arguments: str | Path) -> Done:
    """Run the command in this process with hash vectors."""
    return run_main(light.HashVectors(), *arguments)


@dataclass(frozen=True)
class Undisturbed:
    """What an ingest that nothing disturbed leaves: what `export --json` prints, and the passages."""

    exported: str
    passages: list[str]


@pytest.fixture(scope="module")
def undisturbed(many_notes: Path) -> Undisturbed:
    library = many_notes.parent / "undisturbed"
    start_ingest(many_notes, library, 0.0).communicate(timeout=60)
    command = [sys.executable, light.__file__, "0", "export", "--json", "--library", str(library)]
    exported = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout
    assert len(json.loads(exported)["jobs"]) == NOTE_COUNT
    return Undisturbed(exported, passages_in(library))


def passages_in(library: Path) -> list[str]:
    """All passages with the job that each belongs to, whatever their ids."""
    with Library.open(library) as opened:
        stored = opened.passages(opened.vectors()[0].tolist())
    return sorted(f"{one.passage.at.source} {one.passage.kind} {one.job_id} {one.passage.text}" for one in stored.values())


def check_caught_up(library: Path, notes: Path, undisturbed: Undisturbed) -> None:
    """After a kill the library is whole, answers, and the next ingest ends where an undisturbed one does."""
    kept = check_whole(library)
    assert run_light("ask", "won't start, three beeps", "--library", library).code == 0
    again = run_light("ingest", notes, "--library", library, "--json")
    assert again.code == 0
    summary = json.loads(again.out)
    assert (summary["added"], summary["unchanged"]) == (NOTE_COUNT - kept, kept)
    assert run_light("export", "--json", "--library", library).out == undisturbed.exported
    assert passages_in(library) == undisturbed.passages
    assert len(list(library.glob("*.faiss"))) == 1
    assert check_whole(library) == NOTE_COUNT
    assert "Nothing to do" in run_light("ingest", notes, "--library", library).out


def start_ingest(notes: Path, library: Path, pause_s: float) -> subprocess.Popen[str]:
    command = [sys.executable, light.__file__, str(pause_s), "ingest", str(notes), "--library", str(library)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def wait_for_line(child: subprocess.Popen[str], start: str) -> None:
    assert child.stderr is not None
    for line in child.stderr:
        if line.startswith(start):
            return
    pytest.fail(f"the ingest ended without a line '{start}'")


def check_whole(library: Path) -> int:
    """The library opens, is whole, and every passage belongs to a document; gives how many documents it holds."""
    with sqlite3.connect(library / DATABASE) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        connection.execute("INSERT INTO passage_words(passage_words, rank) VALUES ('integrity-check', 1)")
    connection.close()
    with Library.open(library) as opened:
        ids, vectors = opened.vectors()
        assert len(ids) == len(vectors) == opened.passage_count() == len(opened.passages(ids.tolist()))
        return len(opened.files())


@pytest.mark.parametrize("moment", seeded_moments(), ids=lambda moment: f"{moment[0].replace('/', ' of ')}+{moment[1]}")
def test_a_killed_ingest_loses_nothing(
    moment: tuple[str, float], many_notes: Path, undisturbed: Undisturbed, tmp_path: Path
) -> None:
    line, wait_s = moment
    library = tmp_path / "library"
    child = start_ingest(many_notes, library, PAUSE_S)
    wait_for_line(child, line)
    time.sleep(wait_s)
    child.kill()
    child.communicate()
    # Behind the last line the ingest may have ended by itself before it was killed.
    assert child.returncode != 0 or "index" in line
    assert check_whole(library) >= int(line[1:].split("/")[0]) - 1, "a document that was in has been lost"
    check_caught_up(library, many_notes, undisturbed)


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO documents:7",
        "INSERT INTO passages(:32",
        "UPDATE state:12",
        "COMMIT:20",
        "INSERT INTO jobs:17",
        "INSERT INTO job_members:30",
        "INSERT INTO vector_manifest:1",
    ],
)
def test_a_kill_in_the_middle_of_writing_leaves_whole_documents(
    statement: str, many_notes: Path, undisturbed: Undisturbed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = tmp_path / "library"
    monkeypatch.setenv("LIGHT_DIES_AT", statement)
    child = start_ingest(many_notes, library, 0.0)
    child.communicate(timeout=60)
    assert child.returncode == -signal.SIGKILL
    check_caught_up(library, many_notes, undisturbed)


def test_an_ingest_killed_while_it_starts_is_no_obstacle(many_notes: Path, undisturbed: Undisturbed, tmp_path: Path) -> None:
    library = tmp_path / "library"
    for _ in range(3):
        child = start_ingest(many_notes, library, PAUSE_S)
        while not library.is_dir() and child.poll() is None:
            time.sleep(0.001)
        child.kill()
        child.communicate()
        assert child.returncode != 0
    assert run_light("ingest", many_notes, "--library", library).code == 0
    assert run_light("export", "--json", "--library", library).out == undisturbed.exported


def test_two_ingests_at_once_take_turns(many_notes: Path, undisturbed: Undisturbed, tmp_path: Path) -> None:
    library = tmp_path / "library"
    first = start_ingest(many_notes, library, 0.1)
    wait_for_line(first, "[2/")
    second = start_ingest(many_notes, library, 0.0)
    meanwhile = run_light("ask", "won't start, three beeps", "--library", library)
    assert meanwhile.code == 0
    assert meanwhile.err.startswith("kbindex: the last ingest did not finish")
    first_out, _ = first.communicate(timeout=60)
    second_out, second_err = second.communicate(timeout=60)
    assert (first.returncode, second.returncode) == (0, 0)
    assert first_out.startswith(f"{NOTE_COUNT} added, 0 updated, 0 unchanged, 0 removed")
    assert second_out.startswith(f"Nothing to do: {NOTE_COUNT} documents")
    assert second_err == "kbindex: another ingest is at work in this library; waiting for it\n"
    assert run_light("export", "--json", "--library", library).out == undisturbed.exported
    assert check_whole(library) == NOTE_COUNT
