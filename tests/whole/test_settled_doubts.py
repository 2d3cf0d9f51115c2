"""What reading is not sure of, from ingest to answer: offered to a person, settled, and settled still after another reading."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from command import Done, Run

from kbindex.reading import corrections

FILM = (
    "WEBVTT\n\n00:00:01.000 --> 00:00:04.500\nThe dishwasher won't start, it beeps three times.\n\n"
    "00:00:05.000 --> 00:00:09.250\nI replaced the control board.\n\n"
    "00:00:10.000 --> 00:00:13.000\nRan a full cycle and it works fine now.\n"
)
HEARD_AGAIN = FILM.replace("05.000 -->", "06.000 -->").replace("I replaced the", "So then I replaced the")
TICKET = 'date,unit,complaint,work done,result\n2026-03-02,dishwasher,"beeps, won\'t start",replaced door latch,fixed\n'
TICKET_WITH_TIME = TICKET.replace(",result\n", ",result,minutes\n").replace(",fixed\n", ",fixed,35\n")
QUESTION = "dishwasher won't start, beeps"


@pytest.fixture
def repairs(tmp_path: Path) -> Path:
    """A film and a ticket of one day, one machine and one complaint, with other work in each."""
    folder = tmp_path / "repairs"
    folder.mkdir()
    (folder / "2026-03-02 walk.vtt").write_text(FILM, encoding="utf-8")
    (folder / "tickets.csv").write_text(TICKET, encoding="utf-8")
    return folder


def ok(done: Done) -> Any:
    assert done.code == 0, done.err
    return json.loads(done.out)


def counts(run: Run) -> dict[str, tuple[int, int, int]]:
    """(fixed, tried, jobs that ended fixed) of each fix that an answer counts."""
    return {
        fix["component"]: (fix["fixed"], fix["tried"], fix["share"]["of"])
        for fix in ok(run("ask", QUESTION, "--json"))["fixes"]
    }


def left_out(run: Run) -> int:
    """How many facts an answer says it left out, in JSON and in words alike."""
    left = ok(run("ask", QUESTION, "--json"))["left_for_review"]
    assert isinstance(left, int)
    said = [line.strip() for line in run("ask", QUESTION).out.splitlines() if "kbindex review" in line]
    waits = "1 fact waits" if left == 1 else f"{left} facts wait"
    assert said == ([f"Not counted: {waits} for a look; kbindex review lists what waits"] if left else [])
    return left


def handles(run: Run, *arguments: str) -> dict[str, str]:
    """Handles of the attempts that wait, by component."""
    waiting = ok(run("review", "--json", *arguments))
    return {one["attempt"]["component"]: one["handle"] for one in waiting["attempts"]}


def test_doubts_are_offered_settled_and_stay_settled(
    run: Run, library: Path, repairs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(corrections, "DOUBTFUL_BELOW", 1.01)  # so that all waits, whatever the heads are sure of
    first = run("ingest", repairs)
    assert first.out.splitlines()[1:] == ["2 facts and 1 pair of jobs wait for a look: kbindex review"]
    assert counts(run) == {}
    assert left_out(run) == 2

    (pair,) = ok(run("review", "--json"))["pairs"]
    assert {"day", "complaint"} <= {one["what"] for one in pair["agree"]}
    waiting = handles(run)
    page = run("review").out
    assert "2026-03-02%20walk.vtt#t=5,9.25" in page and "I replaced the control board." in page
    assert f"--right {waiting['control board']}" in page or f"--right {waiting['door latch']}" in page

    done = run("review", "--apart", pair["handle"], "--right", waiting["door latch"], "--wrong", waiting["control board"])
    assert done.code == 0
    assert done.out == "Nothing waits for a look.\n"
    settled = {"door latch": (1, 1, 1)}
    assert counts(run) == settled
    assert left_out(run) == 0

    (repairs / "2026-03-02 walk.vtt").write_text(HEARD_AGAIN, encoding="utf-8")
    (repairs / "tickets.csv").write_text(TICKET_WITH_TIME, encoding="utf-8")
    again = run("ingest", repairs)
    assert again.out.startswith("0 added, 2 updated") and "wait" not in again.out
    assert counts(run) == settled
    jobs = ok(run("export", "--json"))["jobs"]
    attempts = [(one["component"], one["in_review"]) for job in jobs for one in job["attempts"]]
    assert (len(jobs), attempts) == (2, [("door latch", False)])

    (repairs / "2026-03-02 walk.vtt").rename(repairs / "2026-03-02 kitchen.vtt")
    assert run("ingest", repairs).out.splitlines()[1:] == []
    assert counts(run) == settled

    assert handles(run, "--undo", waiting["control board"]).keys() == {"control board"}


def test_the_same_job_is_joined_at_once(run: Run, library: Path, repairs: Path) -> None:
    run("ingest", repairs)
    (pair,) = ok(run("review", "--json"))["pairs"]
    assert len(ok(run("export", "--json"))["jobs"]) == 2
    assert ok(run("review", "--same", pair["handle"], "--json"))["pairs"] == []
    (job,) = ok(run("export", "--json"))["jobs"]
    assert {source["path"] for source in job["sources"]} == {"2026-03-02 walk.vtt", "tickets.csv"}
    assert all(0 <= one["confidence"] <= 1 for one in job["attempts"])


@pytest.mark.parametrize("arguments", [("--same", "p77"), ("--wrong", "a77"), ("--undo", "a77"), ("--right", "p1")])
def test_a_handle_that_is_not_there(run: Run, library: Path, repairs: Path, arguments: tuple[str, str]) -> None:
    run("ingest", repairs)
    run("review")
    done = run("review", *arguments)
    assert (done.code, done.out) == (2, "")
    (line,) = done.said
    assert arguments[1] in line


def test_nothing_waits_and_no_library(run: Run, library: Path, repairs: Path) -> None:
    assert run("review").code == 2
    assert not library.exists()
    (repairs / "2026-03-02 walk.vtt").unlink()
    (repairs / "tickets.csv").unlink()
    (repairs / "note.txt").write_text("The dishwasher stood in the rain.\n", encoding="utf-8")
    assert "wait" not in run("ingest", repairs).out
    done = run("review")
    assert (done.code, done.out) == (0, "Nothing waits for a look.\n")
    assert ok(run("review", "--json")) == {"pairs": [], "attempts": []}
