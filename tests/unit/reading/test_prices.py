"""Prices and times of jobs. The sentences are our own; amounts are usual ones, no source."""

from __future__ import annotations

import pytest
from made import Linked, sentence, verdict, verdicts

from kbindex.reading.amount_links import Link
from kbindex.reading.amounts import Money
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.prices import read_costs, read_minutes
from kbindex.records import At, Attempt, By, Operation, Result
from kbindex.settings import Settings


def _attempt(order: int, component: str, text: str, at: At, by: By = By.US) -> Attempt:
    return Attempt(order, Operation.REPLACE, component, Result.FIXED, at, by, text=text)


def _costs(
    machine: str, fitted: list[str], *said: tuple[str, str], links: Linked | None = None
) -> list[tuple[str | None, float]]:
    """Costs of sentences (kind, text) told after parts were fitted."""
    works = [sentence(f"new {part} went in", number) for number, part in enumerate(fitted)]
    attempts = [_attempt(n + 1, part, work.text, work.at) for n, (part, work) in enumerate(zip(fitted, works, strict=True))]
    told = [sentence(text, number) for number, (_, text) in enumerate(said, start=len(fitted))]
    judged = [verdict("action")] * len(works) + [verdict(kind) for kind, _ in said]
    mentions = load_lexicon().name_parts([one.text for one in (*works, *told)], machine)
    found = read_costs([*works, *told], verdicts(judged, mentions, links), attempts, Settings())
    return [(cost.component, cost.amount) for cost in found]


@pytest.mark.parametrize(
    ("text", "costs"),
    [
        ("hinge thirty one gasket forty four", [("door hinge", 31), ("door gasket", 44)]),
        ("twelve for the latch and five for the hinge", [("door latch", 12), ("door hinge", 5)]),
        ("the latch is 14 dollars the gasket was 29", [("door latch", 14), ("door gasket", 29)]),
        ("$31 gasket $12 hinge", [("door gasket", 31), ("door hinge", 12)]),
        ("Drain pump, fifty-two.", [("drain pump", 52)]),
        ("The drain pump was fifty-one seventy-five.", [("drain pump", 51.75)]),
        ("drain pump ran me 5175", [("drain pump", 51.75)]),
        ("Drain pump $52, labor ninety.", [("drain pump", 52), (None, 90)]),
        ("Labor was sixty, so a hundred and twelve in all.", [(None, 112)]),
        ("Fifty bucks the two, latch thirty, hinge twenty.", [("door latch", 30), ("door hinge", 20)]),
        ("I charge her one forty for the visit", [(None, 140)]),
    ],
)
def test_prices_go_with_the_component_they_are_said_of(text: str, costs: list[tuple[str | None, float]]) -> None:
    assert _costs("dishwasher", [], ("cost", text)) == costs


def test_a_bare_amount_is_the_price_of_the_part_just_fitted_and_the_next_is_for_the_work() -> None:
    assert _costs("dryer", ["igniter"], ("cost", "38"), ("cost", "+ 85")) == [("igniter", 38), (None, 85)]


def test_two_bare_amounts_are_the_prices_of_the_two_parts_fitted() -> None:
    fitted = ["heating element", "thermostat"]
    assert _costs("water heater", fitted, ("cost", "twenty-one and thirteen in parts")) == [
        ("heating element", 21),
        ("thermostat", 13),
    ]


def test_what_only_the_customer_fitted_takes_no_bare_price() -> None:
    work, price = sentence("he had put a latch in himself"), sentence("Sixty-five.", 1)
    theirs = _attempt(1, "door latch", work.text, work.at, By.OTHER)
    mentions = load_lexicon().name_parts([work.text, price.text], "washer")
    found = read_costs([work, price], verdicts([verdict("action"), verdict("cost")], mentions), [theirs], Settings())
    assert [(cost.component, cost.amount) for cost in found] == [(None, 65)]


def test_a_link_decides_between_two_components_and_a_number_that_is_hardly_a_price_is_none() -> None:
    class Links(Linked):
        def of_price(self, place: int, start: int, end: int) -> Link:
            return Link({"drain pump": 0.95})

        def is_price(self, place: int, money: Money, has_currency: bool) -> float:
            return 0.1 if money.amount == 19 else 0.9

    text = "the latch and the pump, 44 dollars, and 19 dollars"
    assert _costs("dishwasher", [], ("cost", text), links=Links()) == [("drain pump", 44)]


@pytest.mark.parametrize(
    "text",
    [
        "nobody needs a two hundred dollar board for this",
        "a board would be a hundred and ninety dollars",
        "they list the board at 180 dollars",
        "I was in that basement an hour and four",
        "the counterweight is thirty pounds",
    ],
)
def test_what_was_not_paid_is_no_cost(text: str) -> None:
    assert _costs("washer", [], ("aside", text)) == []


@pytest.mark.parametrize(
    ("said", "minutes"),
    [
        ([("result", "it ran for twenty minutes"), ("cost", "Forty minutes, and the half of that was stairs.")], 40),
        ([("cost", "I was there an hour and ten, most of it on my knees.")], 70),
        ([("cost", "Call it an hour forty with the talking.")], 100),
        ([("cost", "hour and a half and I skinned a knuckle")], 90),
        ([("cost", "a quarter of an hour of work, the dog not counting")], 15),
        ([("cost", "first visit was an hour second one was 25 minutes")], 85),
        ([("cost", "Two hours for both of them.")], None),
        ([("result", "ran a load for 40 min, dry")], None),
    ],
)
def test_time_of_the_job(said: list[tuple[str, str]], minutes: int | None) -> None:
    sentences = [sentence(text, number) for number, (_, text) in enumerate(said)]
    assert read_minutes(sentences, [verdict(kind) for kind, _ in said], is_note=False) == minutes


def test_a_nickname_takes_its_price_and_a_charge_does_not() -> None:
    class Links(Linked):
        def of_price(self, place: int, start: int, end: int) -> Link:
            return Link({}, "diverter motor", 0.8)

    assert _costs("dishwasher", [], ("cost", "36 dollars for the switchman by the rack"), links=Links()) == [
        ("diverter motor", 36)
    ]
    assert _costs("dishwasher", [], ("cost", "36 dollars for labour"), links=Links()) == [(None, 36)]


def test_whole_amounts_of_a_ledger_and_what_time_and_parts_came_to() -> None:
    assert _costs("dishwasher", [], ("cost", "drain pump 37.-, door latch 12,-")) == [("drain pump", 37), ("door latch", 12)]
    assert _costs("dishwasher", [], ("cost", "New drain pump. 70 min, $105.")) == [(None, 105)]
    assert _costs("dishwasher", [], ("cost", "All told an hour for the drain pump and ninety dollars")) == [(None, 90)]
    assert _costs("dishwasher", [], ("cost", "A board is two hundred and sixty dollars and nine working days.")) == [
        ("control board", 260)
    ]
