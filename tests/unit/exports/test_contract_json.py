"""Records as JSON: plain values, times of two decimals, every place with its link."""

import json
from dataclasses import replace

from kbindex.doubts import Agreement, Telling, Waiting, WaitingAttempt, WaitingPair
from kbindex.exports.contract_json import answer_json, job_json, library_json, summary_json, waiting_json
from kbindex.questions import Answer, AskedSymptom, FoundPassage, Question
from kbindex.records import (
    At,
    Attempt,
    By,
    Failure,
    IngestSummary,
    Job,
    Kind,
    Operation,
    Outcome,
    Result,
    Source,
    SourceKind,
    Symptom,
)

SPOKEN = At("walks/latch.mp4", None, 12.34567, 17.999)
WRITTEN = At("tickets.csv", 3)
JOB = Job(
    id="job-2057",
    sources=(Source("walks/latch.mp4", SourceKind.RECORDING, None, 0.123456, 412.0),),
    job_no="2057",
    appliance="dishwasher",
    symptoms=(Symptom("beeps é", ("beeps",), SPOKEN, 3),),
    attempts=(Attempt(1, Operation.REPLACE, "door latch", Result.FIXED, SPOKEN, By.OTHER, (2,), WRITTEN),),
    outcome=Outcome.FIXED,
    fixed_by=1,
)


def test_a_place_in_a_recording_has_two_decimals_and_a_media_fragment() -> None:
    at = json.loads(job_json(JOB))["symptoms"][0]["at"]
    link = "walks/latch.mp4#t=12.35,18"
    assert at == {"source": "walks/latch.mp4", "row": None, "start_s": 12.35, "end_s": 18.0, "link": link}


def test_a_written_place_has_no_times_and_its_row() -> None:
    at = json.loads(job_json(JOB))["attempts"][0]["result_at"]
    assert at == {"source": "tickets.csv", "row": 3, "start_s": None, "end_s": None, "link": "tickets.csv"}


def test_a_source_has_two_decimals() -> None:
    (source,) = json.loads(job_json(JOB))["sources"]
    assert source == {"path": "walks/latch.mp4", "kind": "recording", "row": None, "start_s": 0.12, "end_s": 412.0}


def test_enums_are_their_values_and_tuples_are_lists() -> None:
    (attempt,) = json.loads(job_json(JOB))["attempts"]
    told = (attempt["operation"], attempt["result"], attempt["by"], attempt["together_with"])
    assert told == ("replace", "fixed", "other", [2])
    assert json.loads(job_json(JOB))["outcome"] == "fixed"


def test_a_library_names_its_format_and_letters_stay_letters() -> None:
    printed = library_json([JOB])
    assert json.loads(printed) == {"format": "kbindex/1", "jobs": [json.loads(job_json(JOB))]}
    assert "beeps é" in printed
    assert json.loads(library_json([])) == {"format": "kbindex/1", "jobs": []}


def test_a_summary_lists_its_failures() -> None:
    summary = IngestSummary(3, 1, 12, 0, (Failure("x.mp4", "no audio stream"),), 5400.0, 420.1)
    assert json.loads(summary_json(summary)) == {
        "added": 3,
        "updated": 1,
        "unchanged": 12,
        "removed": 0,
        "failed": [{"path": "x.mp4", "error": "no audio stream"}],
        "audio_s": 5400.0,
        "wall_s": 420.1,
    }


def test_an_answer_keeps_its_scores_whole() -> None:
    question = Question("beeps", None, (AskedSymptom("beeps", 3),))
    answer = Answer(question, 1, False, passages=(FoundPassage(Kind.SYMPTOM, "it beeps", 0.8333, "j-1", SPOKEN),))
    plain = json.loads(answer_json(answer))
    assert plain["passages"][0]["score"] == 0.8333
    assert plain["query"]["symptoms"] == [{"tag": "beeps", "count": 3, "code": None}]
    assert plain["fixes"] == plain["order"] == []
    assert plain["left_for_review"] == 0


def test_an_attempt_says_how_sure_it_is_and_whether_it_waits() -> None:
    (attempt,) = json.loads(job_json(JOB))["attempts"]
    assert (attempt["confidence"], attempt["in_review"]) == (1.0, False)
    doubtful = replace(JOB.attempts[0], confidence=0.41, in_review=True)
    (attempt,) = json.loads(job_json(replace(JOB, attempts=(doubtful,))))["attempts"]
    assert (attempt["confidence"], attempt["in_review"]) == (0.41, True)


def test_what_waits_has_handles_and_links() -> None:
    pair = WaitingPair(
        "p1",
        Telling("j-1", "job-2057", "it beeps", SPOKEN),
        Telling("j-2", "j-2", "beeps", WRITTEN),
        (Agreement("day", "2026-03-02", 3),),
    )
    plain = json.loads(waiting_json(Waiting((pair,), (WaitingAttempt("a2", "job-2057", JOB.attempts[0]),))))
    assert plain["pairs"][0]["handle"] == "p1"
    assert plain["pairs"][0]["one"]["at"]["link"] == "walks/latch.mp4#t=12.35,18"
    assert plain["pairs"][0]["agree"] == [{"what": "day", "detail": "2026-03-02", "points": 3}]
    assert (plain["attempts"][0]["handle"], plain["attempts"][0]["attempt"]["component"]) == ("a2", "door latch")
