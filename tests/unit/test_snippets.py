"""Snippets of the labelled set: what each line means."""

from pathlib import Path

import pytest

from eval.labelled import load_labelled
from eval.snippets import read_snippets

TWO = """== washer raw
sym leaks,noise | puddle under the left foot and it growls
do 1 replace drain pump other $38 = no_change | her brother put the little fella in thirty eight dollars same puddle
do 2 replace door gasket + 3 clean door glass | then the donut came off and i scrubbed the glass
res 2,3 fixed | not a drop

== dryer note
cst 60 - | 60 for the call
shr 0.7-0.8 drive belt | belt 7 or 8 times in 10
"""


def test_snippets_are_labelled_documents(tmp_path: Path) -> None:
    (tmp_path / "yard.snippets").write_text(TWO, encoding="utf-8")
    washer, dryer = load_labelled(tmp_path)
    assert (washer.path, washer.voice, washer.raw, washer.form.value) == ("yard.snippets#1", "yard", True, "recording")
    assert [(label.kind, label.attempt, label.turn) for label in washer.labels] == [
        ("symptom", "no", "none"),
        ("action", "yes", "no_change"),
        ("action", "yes", "none"),
        ("result", "no", "fixed"),
    ]
    (job,) = washer.jobs
    assert job["symptoms"] == [{"tags": ["leaks", "noise"], "at": 1}]
    assert [(one["component"], one["by"], one["result"], one["together_with"]) for one in job["attempts"]] == [
        ("drain pump", "other", "no_change", []),
        ("door gasket", "us", "fixed", [3]),
        ("door glass", "us", "fixed", [2]),
    ]
    assert [(one["component"], one["amount"]) for one in job["costs"]] == [("drain pump", 38.0)]
    assert dryer.form.value == "note"
    assert dryer.jobs[0]["costs"][0]["component"] is None
    assert dryer.jobs[0]["stated_shares"] == [{"component": "drive belt", "low": 0.7, "high": 0.8, "at": 2}]


def test_a_result_that_is_overtaken_keeps_its_label() -> None:
    text = "== washer\ndo 1 replace belt | New belt.\nres 1 fixed | Away she went.\nres 1 came_back | A week on she squeals."
    (told,) = read_snippets(text, "x")
    assert [entry.get("event") for entry in told["say"]] == [None, "fixed", "came_back"]
    assert told["jobs"][0]["attempts"][0]["result"] == "came_back"


@pytest.mark.parametrize(
    "text",
    [
        "washer\nasd | no mark of a head",
        "== washer\n",
        "== washer\nhum | not a code",
        "== washer\nasd no bar",
        "== washer\ndo replace belt | no order",
        "== washer\nres 1 fixed | no attempt of that number",
        "== washer\nres 1 mended | no such result",
        "== washer\nasd much | nothing may follow",
    ],
)
def test_a_line_of_another_form_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match="snippet|line|understood"):
        list(read_snippets(text, "x"))
