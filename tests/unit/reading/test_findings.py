"""Complaints, checks and cautions. The sentences are our own."""

from __future__ import annotations

import pytest
from made import action, sentence, verdict, written

from kbindex.reading.findings import read_cautions, read_checks, read_symptoms
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import load_lexicon
from kbindex.records import At, Attempt, Operation, Result, Sentence


def _told(*said: tuple[str, str]) -> tuple[list[Sentence], list[Judged]]:
    return [sentence(text, number) for number, (_, text) in enumerate(said)], [verdict(kind) for kind, _ in said]


def _tags(machine: str | None, *said: tuple[str, str]) -> list[tuple[str, ...]]:
    sentences, judged = _told(*said)
    return [symptom.tags for symptom in read_symptoms(sentences, judged, machine, (), load_lexicon())]


@pytest.mark.parametrize(
    ("machine", "text", "tags"),
    [
        ("refrigerator", "it's warm again inside, 54 in the milk", ("no_cool",)),
        ("cooktop", "left rear burner is dead", ("no_heat",)),
        ("range", "clicks all night with the knobs off", ("noise", "wont_stop")),
        ("washer", "door will not open and the washing is stuck inside", ("door_stuck",)),
        ("dishwasher", "plates come out gritty", ("poor_result",)),
        ("microwave", "dead as a doornail", ("dead",)),
    ],
)
def test_tags_of_complaints(machine: str, text: str, tags: tuple[str, ...]) -> None:
    assert _tags(machine, ("symptom", text)) == [tags]


def test_a_count_and_a_code_belong_to_their_complaint() -> None:
    sentences, judged = _told(("symptom", "won't start, beeps five times and the display reads E, two, four"))
    (symptom,) = read_symptoms(sentences, judged, "washer", (), load_lexicon())
    assert (symptom.count, symptom.code) == (5, "E24")
    assert set(symptom.tags) == {"no_start", "beeps", "error_code"}


def test_what_is_said_by_the_way_is_no_complaint() -> None:
    assert _tags("washer", ("aside", "the neighbour's dog is making a racket"), ("symptom", "it won't drain")) == [
        ("no_drain",)
    ]


def test_after_the_first_work_only_complaints_count() -> None:
    worked, judged_worked = action("new drain pump in")
    sentences = [sentence("it won't drain", 0), sentence(worked, 1), sentence("it leaked on the floor once", 2)]
    attempts = [Attempt(1, Operation.REPLACE, "drain pump", Result.FIXED, sentences[1].at, text=worked)]
    judged = [verdict("symptom"), judged_worked, verdict("result")]
    assert [s.tags for s in read_symptoms(sentences, judged, "washer", attempts, load_lexicon())] == [("no_drain",)]


def test_a_check_holds_its_reading_and_component() -> None:
    sentences, judged = _told(("check", "the thermal fuse reads open, zero ohms on the heating element"))
    mentions = load_lexicon().name_parts([one.text for one in sentences], "dryer")
    (check,) = read_checks(sentences, judged, mentions)
    assert check.points_to == "heating element"
    assert check.reading is not None
    assert (check.reading.value, check.reading.unit) == (0, "ohm")


@pytest.mark.parametrize(
    ("text", "topic"),
    [
        ("Pull the plug, and wear gloves, those edges are sharp.", "sharp metal"),
        ("Unplug it and let it cool off, that boiler burns.", "heat"),
        ("Pull the plug before the valve, water and electric do not mix.", "water near power"),
        ("That capacitor bites long after you pulled the cord.", "capacitor"),
        ("Gas off at the cock, and sniff before you light it.", "gas"),
        ("You need a card to open the sealed system.", "refrigerant"),
        ("Two of you to lift it, that's a heavy one.", "weight"),
        ("Keep your fingers clear of the spinning fan.", "moving parts"),
        ("Never leave the lid switch jumpered.", "bypassed switch"),
        ("Wear a mask, that dust is not for your lungs.", "dust"),
        ("Breaker off and proved dead on both legs.", "mains power"),
    ],
)
def test_the_main_hazard_of_a_caution(text: str, topic: str) -> None:
    sentences, judged = _told(("caution", text))
    assert [caution.topic for caution in read_cautions(sentences, judged, load_lexicon())] == [topic]


def test_a_caution_that_captions_cut_in_two_is_one() -> None:
    sentences, judged = _told(
        ("caution", "first thing i unplugged it"), ("caution", "because the boiler in there will burn you")
    )
    assert [caution.topic for caution in read_cautions(sentences, judged, load_lexicon())] == ["heat"]


def test_a_warning_is_heard_where_the_kind_is_in_doubt() -> None:
    doubtful = verdict("check")
    doubtful.chances["kind"]["caution"] = 0.1
    texts = [written("don't breathe that dust"), written("the dust is grey")]
    assert [c.text for c in read_cautions(texts, [doubtful, doubtful], load_lexicon())] == ["don't breathe that dust"]


def test_places_are_kept() -> None:
    sentences, judged = _told(("aside", "hello"), ("caution", "plug out of the wall before you start"))
    (caution,) = read_cautions(sentences, judged, load_lexicon())
    assert caution.at == At("walk.mp4", None, 10.0, 15.0)
