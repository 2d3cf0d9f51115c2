"""What the commands print for programs: exactly the names, values and meanings that README promises."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from command import Done, Run, run_main

from kbindex.engines.sentence_vectors import OnnxMiniLm

KINDS = {"symptom", "check", "cause", "action", "result", "share", "cost", "caution", "aside"}
OPERATIONS = {"replace", "clean", "adjust", "reseat", "repair", "reset", "bypass"}
RESULTS = {"fixed", "no_change", "partly", "came_back", "untested"}
OUTCOMES = {"fixed", "not_fixed", "untested", "came_back"}
TAGS = {
    "no_start", "beeps", "blinks", "error_code", "no_heat", "overheats", "no_cool", "leaks", "noise", "no_drain", "no_fill",
    "no_spin", "wont_stop", "trips_breaker", "smell", "sparks", "door_stuck", "poor_result", "no_ice", "vibrates", "dead",
}  # fmt: skip
LINK = re.compile(r"(?P<path>[^#]+)#t=(?P<start>\d+(\.\d{1,2})?),(?P<end>\d+(\.\d{1,2})?)")

DOCUMENTS = {
    "2501-dishwasher.txt": (
        "Job 2501, 2026-03-02. Dishwasher won't start, just three beeps. Unplug it before you open the door panel.\n"
        "Door switch measured 0.4 ohm, good. Replaced the control board, no change, still beeps.\n"
        "Replaced the door latch. Ran a full cycle, starts every time.\n"
        "Latch was 42 dollars. Took 35 minutes. Nine times out of ten it's the door latch.\n"
    ),
    "2502-dishwasher.md": (
        "Job 2502. Dishwasher beeps three times and will not start.\n\n"
        "Replaced the door latch. Closed it up and left, did not run it.\n"
    ),
    "walks/2503 dishwasher.vtt": (
        "WEBVTT\n\n00:00:01.000 --> 00:00:05.500\nJob 2503. This dishwasher won't start, it beeps three times.\n\n"
        "00:00:06.125 --> 00:00:09.777\nI replaced the door latch.\n\n"
        "00:00:10.000 --> 00:00:14.000\nRan a full cycle and it works fine.\n"
    ),
    "tickets.csv": (
        "ticket,date,unit,complaint,work done,result\n"
        "2504,2026-04-01,dryer,tumbles but no heat,replaced thermal fuse,fixed\n"
        "2505,2026-04-02,washer,will not drain,cleaned drain pump,fixed\n"
        "2506,2026-04-09,washer,will not drain again,replaced drain pump,not tested\n"
    ),
}


@dataclass(frozen=True)
class Printed:
    """What the three commands printed for one small shop."""

    summary: dict[str, Any]
    exported: dict[str, Any]
    answer: dict[str, Any]


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory, encoder: OnnxMiniLm) -> Printed:
    folder = tmp_path_factory.mktemp("contract")
    library = folder / "library"
    for name, text in DOCUMENTS.items():
        (folder / "repairs" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "repairs" / name).write_text(text, encoding="utf-8")
    commands = (
        ("ingest", folder / "repairs"),
        ("export",),
        ("ask", "dishwasher won't start, three beeps"),
    )
    return Printed(*(json.loads(ok(run_main(encoder, *one, "--json", "--library", library)).out) for one in commands))


def ok(done: Done) -> Done:
    assert done.code == 0, done.err
    return done


def holds(record: dict[str, Any], names: str) -> None:
    """The record has all of these names; others may come on top."""
    missing = set(names.split()) - set(record)
    assert not missing, f"{sorted(missing)} missing from {sorted(record)}"


def places_in(value: Any) -> Iterator[dict[str, Any]]:
    """Every `at` record anywhere in a value."""
    if isinstance(value, dict):
        if "link" in value:
            yield value
        for one in value.values():
            yield from places_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from places_in(one)


def check_place(at: dict[str, Any]) -> None:
    assert list(at) == ["source", "row", "start_s", "end_s", "link"]
    if at["source"].endswith(".vtt"):
        match = LINK.fullmatch(at["link"])
        assert match and " " not in at["link"], at["link"]
        assert unquote(match["path"]) == at["source"]
        assert (float(match["start"]), float(match["end"])) == (at["start_s"], at["end_s"])
        assert at["start_s"] == round(at["start_s"], 2) <= at["end_s"] == round(at["end_s"], 2)
        assert at["row"] is None
    else:
        assert at["start_s"] is at["end_s"] is None
        assert at["link"] == at["source"]
        assert (at["row"] in (1, 2, 3)) if at["source"] == "tickets.csv" else at["row"] is None


def test_the_summary(printed: Printed) -> None:
    summary = printed.summary
    assert list(summary) == ["added", "updated", "unchanged", "removed", "failed", "audio_s", "wall_s"]
    assert (summary["added"], summary["updated"], summary["unchanged"], summary["removed"]) == (4, 0, 0, 0)
    assert summary["failed"] == []
    assert summary["audio_s"] == 14.0


def test_every_place_says_where_it_was_said(printed: Printed) -> None:
    for whole in (printed.exported, printed.answer):
        places = list(places_in(whole))
        assert {at["source"] for at in places} >= {"walks/2503 dishwasher.vtt", "2501-dishwasher.txt"}
        for at in places:
            check_place(at)
    assert {at["row"] for at in places_in(printed.exported) if at["source"] == "tickets.csv"} == {1, 2, 3}


def test_the_export_holds_the_fields_of_a_job(printed: Printed) -> None:
    exported = printed.exported
    assert exported["format"] == "kbindex/1"
    assert {job["job_no"] for job in exported["jobs"]} == {"2501", "2502", "2503", "2504", "2505", "2506"}
    for job in exported["jobs"]:
        holds(job, "id job_no date appliance sources symptoms checks attempts stated_shares costs minutes cautions")
        holds(job, "callback_of outcome fixed_by")
        assert job["outcome"] in OUTCOMES
        for source in job["sources"]:
            assert list(source) == ["path", "kind", "row", "start_s", "end_s"]
            assert source["kind"] == ("recording" if source["path"].endswith(".vtt") else "note")
        for symptom in job["symptoms"]:
            holds(symptom, "text tags count code at")
            assert set(symptom["tags"]) <= TAGS
        for check in job["checks"]:
            holds(check, "text finding reading at")
        for share in job["stated_shares"]:
            holds(share, "component low high text at")
            assert 0 <= share["low"] <= share["high"] <= 1
        for cost in job["costs"]:
            holds(cost, "component amount currency at")
        for caution in job["cautions"]:
            holds(caution, "topic text at")
        check_attempts(job)


def check_attempts(job: dict[str, Any]) -> None:
    orders = [attempt["order"] for attempt in job["attempts"]]
    assert orders == list(range(1, len(orders) + 1))
    assert job["fixed_by"] in (None, *orders)
    assert (job["outcome"] == "fixed") == (job["fixed_by"] is not None)
    for attempt in job["attempts"]:
        holds(attempt, "order operation component by result together_with at result_at")
        assert attempt["operation"] in OPERATIONS
        assert attempt["result"] in RESULTS
        assert attempt["by"] in ("us", "other")
        assert set(attempt["together_with"]) <= set(orders) - {attempt["order"]}


def test_the_export_says_what_the_documents_say(printed: Printed) -> None:
    jobs = {job["job_no"]: job for job in printed.exported["jobs"]}
    first = jobs["2501"]
    assert (first["date"], first["appliance"], first["minutes"]) == ("2026-03-02", "dishwasher", 35)
    work = [(one["operation"], one["component"], one["result"]) for one in first["attempts"]]
    assert work == [("replace", "control board", "no_change"), ("replace", "door latch", "fixed")]
    assert (first["outcome"], first["fixed_by"]) == ("fixed", 2)
    assert {(cost["component"], cost["amount"], cost["currency"]) for cost in first["costs"]} == {("door latch", 42, "USD")}
    assert [(share["component"], share["low"], share["high"]) for share in first["stated_shares"]] == [("door latch", 0.9, 0.9)]
    assert first["checks"][0]["reading"] == {"value": 0.4, "unit": "ohm"}
    assert jobs["2502"]["outcome"] == "untested"
    assert (jobs["2504"]["appliance"], jobs["2504"]["date"], jobs["2504"]["outcome"]) == ("dryer", "2026-04-01", "fixed")
    assert jobs["2504"]["sources"][0]["row"] == 1
    assert jobs["2506"]["outcome"] == "untested"


def test_the_answer_holds_its_fields(printed: Printed) -> None:
    answer = printed.answer
    holds(answer, "query jobs_matched nothing_found fixes order checks cautions passages")
    holds(answer["query"], "text appliance symptoms")
    assert answer["query"]["appliance"] == "dishwasher"
    asked = [{name: one[name] for name in ("tag", "count", "code")} for one in answer["query"]["symptoms"]]
    assert {"tag": "beeps", "count": 3, "code": None} in asked
    assert {"tag": "no_start", "count": None, "code": None} in asked
    for fix in answer["fixes"]:
        check_fix(fix)
    for step in answer["order"]:
        holds(step, "step component operation chance cost expected_cost_from_here")
        assert 0 <= step["chance"] <= 1
    assert [step["step"] for step in answer["order"]] == list(range(1, len(answer["order"]) + 1))
    for check in answer["checks"]:
        holds(check, "text finding points_to job at")
    assert answer["cautions"]
    for caution in answer["cautions"]:
        holds(caution, "topic text reference")
    for passage in answer["passages"]:
        holds(passage, "kind text score job at")
        assert passage["kind"] in KINDS
        assert 0 <= passage["score"] <= 1


def check_fix(fix: dict[str, Any]) -> None:
    holds(fix, "component operation fixed tried share when_tried stated part_cost minutes clips")
    assert fix["operation"] in OPERATIONS
    for rate in (fix["share"], fix["when_tried"]):
        holds(rate, "value low high of")
        if rate["of"]:
            assert 0 <= rate["low"] <= rate["value"] <= rate["high"] <= 1
        else:
            assert rate["value"] is rate["low"] is rate["high"] is None
    assert fix["when_tried"]["of"] == fix["tried"] >= fix["fixed"]
    if fix["part_cost"]:
        holds(fix["part_cost"], "median low high n currency")
    if fix["minutes"]:
        holds(fix["minutes"], "median low high n")
    for share in fix["stated"]:
        holds(share, "low high text at")
    for clip in fix["clips"]:
        holds(clip, "kind text job at")
        assert clip["kind"] in ("action", "result")


def test_the_answer_counts_jobs(printed: Printed) -> None:
    answer = printed.answer
    assert answer["jobs_matched"] == 3
    assert answer["nothing_found"] is False
    fixes = {(fix["component"], fix["operation"]): fix for fix in answer["fixes"]}
    latch, board = fixes["door latch", "replace"], fixes["control board", "replace"]
    assert (latch["fixed"], latch["tried"]) == (2, 2)  # 2502 was never run: it is in neither
    assert (board["fixed"], board["tried"]) == (0, 1)
    assert latch["share"]["of"] == board["share"]["of"] == 2
    assert latch["part_cost"]["median"] == 42 and latch["part_cost"]["n"] == 1
    assert answer["order"][0]["component"] == "door latch"


@pytest.mark.parametrize("question", ["how do I bake sourdough bread", "motorcycle will not idle"])
def test_nothing_is_found_for_what_the_library_does_not_hold(run: Run, stocked: Path, question: str) -> None:
    answer = json.loads(ok(run("ask", question, "--json")).out)
    assert answer["nothing_found"] is True
    assert answer["jobs_matched"] == 0
    assert answer["fixes"] == answer["order"] == answer["checks"] == answer["passages"] == []
    assert "Nothing like it" in ok(run("ask", question)).out


def test_another_machine_has_no_answer_from_this_one(run: Run, stocked: Path) -> None:
    answer = json.loads(ok(run("ask", "won't start, three beeps", "--appliance", "dryer", "--json")).out)
    assert answer["query"]["appliance"] == "dryer"
    assert (answer["jobs_matched"], answer["nothing_found"]) == (0, True)


def test_tried_parts_leave_the_order_and_limit_cuts_rows(run: Run, stocked: Path) -> None:
    whole = json.loads(ok(run("ask", "dishwasher won't start, three beeps", "--json")).out)
    tried = json.loads(ok(run("ask", "dishwasher won't start, three beeps", "--tried", "latch", "--json")).out)
    assert "door latch" in {step["component"] for step in whole["order"]}
    assert "door latch" not in {step["component"] for step in tried["order"]}
    assert tried["fixes"] == whole["fixes"]
    one = json.loads(ok(run("ask", "dishwasher won't start, three beeps", "--limit", "1", "--json")).out)
    assert [len(one[name]) for name in ("fixes", "order", "passages")] == [1, 1, 1]


def test_exit_statuses(run: Run, stocked: Path, stock: Path, tmp_path: Path) -> None:
    notes = stock.parent / "notes"
    assert run("ingest", notes).code == 0
    empty = tmp_path / "empty.txt"
    empty.write_text("", encoding="utf-8")
    assert run("ingest", notes, empty).code == 1
    assert run("ingest", tmp_path / "gone").code == 2
    assert run("--help").code == run("--version").code == 0
    assert run("frobnicate").code == 2
