"""Stated shares and the components that they speak of. The sentences are our own; the shares are common practice, no source."""

from __future__ import annotations

import pytest
from made import Linked, sentence, verdict, verdicts

from kbindex.reading.amount_links import Link
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.opinions import read_shares


def _shares(machine: str, *said: tuple[str, str], links: Linked | None = None) -> list[tuple[str, float, float]]:
    sentences = [sentence(text, number) for number, (_, text) in enumerate(said)]
    mentions = load_lexicon().name_parts([text for _, text in said], machine)
    found = read_shares(sentences, verdicts([verdict(kind) for kind, _ in said], mentions, links))
    return [(share.component, round(share.low, 2), round(share.high, 2)) for share in found]


@pytest.mark.parametrize(
    ("machine", "text", "shares"),
    [
        ("dryer", "I'd put sixty-five per cent on the igniter, no more.", [("igniter", 0.65, 0.65)]),
        ("dryer", "seven in ten it's the thermal fuse", [("thermal fuse", 0.7, 0.7)]),
        ("dryer", "Thermal fuse half the time, igniter a third.", [("thermal fuse", 0.5, 0.5), ("igniter", 0.33, 0.33)]),
        (
            "dryer",
            "For a drum that squeals it's fifty per cent the idler pulley, thirty the drum roller.",
            [("idler pulley", 0.5, 0.5), ("drum roller", 0.3, 0.3)],
        ),
        ("dryer", "Seven out of ten of these thermal fuses, the vent duct's the true reason.", [("vent duct", 0.7, 0.7)]),
        (
            "room air conditioner",
            "Six times in ten a fan motor that only hums has lost its run capacitor.",
            [("run capacitor", 0.6, 0.6)],
        ),
        ("washer", "sixty seventy percent the drain pump", [("drain pump", 0.6, 0.7)]),
        ("dishwasher", "not the latch, three times in four it's the control board", [("control board", 0.75, 0.75)]),
        (
            "dishwasher",
            "out of ten such calls, six are the door latch and two the control board",
            [("door latch", 0.6, 0.6), ("control board", 0.2, 0.2)],
        ),
        ("dehumidifier", "I'd bet you three to one it's the float switch", [("float switch", 0.75, 0.75)]),
    ],
)
def test_shares_go_with_what_they_are_said_of(machine: str, text: str, shares: list[tuple[str, float, float]]) -> None:
    assert _shares(machine, ("share", text)) == shares


def test_a_link_decides_between_two_components_and_what_it_denies_is_left_out() -> None:
    class Links(Linked):
        def of_share(self, place: int, start: int, end: int) -> Link:
            return Link({"drain pump": 0.9, "door latch": 0.01})

    assert _shares("dishwasher", ("share", "the latch or the pump, sixty per cent"), links=Links()) == [
        ("drain pump", 0.6, 0.6)
    ]
    assert _shares("dishwasher", ("share", "the latch, sixty per cent"), links=Links()) == []


def test_what_a_nickname_stands_for_is_told_by_the_whole_list() -> None:
    class Links(Linked):
        def of_share(self, place: int, start: int, end: int) -> Link:
            return Link({"igniter": 0.5}, "gas valve coil", 0.8)

    said = _shares("dryer", ("share", "It's the twins sixty per cent, whatever the igniter looks like."), links=Links())
    assert said == [("gas valve coil", 0.6, 0.6)]


def test_the_other_end_of_a_range() -> None:
    said = _shares(
        "range",
        ("share", "Say eighty, eighty-five percent the bake element."),
        ("share", "The other fifteen is the wiring harness."),
    )
    assert said == [("bake element", 0.8, 0.85), ("wiring harness", 0.15, 0.2)]


def test_a_correction_in_the_next_sentence() -> None:
    said = _shares("washer", ("share", "fifty percent of those is the lid lock"), ("aside", "no call it sixty"))
    assert said == [("lid lock", 0.6, 0.6)]


def test_this_points_back() -> None:
    said = _shares("freezer", ("cause", "So the start relay is gone."), ("share", "ninety percent it's this."))
    assert said == [("start relay", 0.9, 0.9)]


def test_captions_cut_between_share_and_component() -> None:
    said = _shares(
        "dryer", ("share", "with a squeal like this one four in five"), ("aside", "it's the idler pulley so off it comes")
    )
    assert said == [("idler pulley", 0.8, 0.8)]


@pytest.mark.parametrize("text", ["this spray arm has 4 of 7 holes shut", "half the cups have sand in them"])
def test_counts_of_things_are_no_shares(text: str) -> None:
    assert _shares("dishwasher", ("check", text)) == []
