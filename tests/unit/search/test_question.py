"""What is asked: the machine, the symptoms with counts and codes, the parts."""

import pytest

from kbindex.questions import AskedSymptom
from kbindex.reading.lexicon import Lexicon, load_lexicon
from kbindex.search.question import read_question


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


@pytest.mark.parametrize(
    "text",
    ["dishwasher won't start, three beeps", "DISHWASHER WON'T START - BEEPS 3 TIMES", "dishwasher wont  start\nbeeps x3"],
)
def test_the_same_question_in_several_hands(lexicon: Lexicon, text: str) -> None:
    question = read_question(text, None, lexicon)
    assert question.appliance == "dishwasher"
    assert set(question.symptoms) == {AskedSymptom("no_start"), AskedSymptom("beeps", 3)}


def test_white_space_is_tidied_and_the_words_are_kept(lexicon: Lexicon) -> None:
    assert read_question("  it\n leaks ", None, lexicon).text == "it leaks"


def test_a_machine_given_apart_goes_before_the_text(lexicon: Lexicon) -> None:
    assert read_question("it is next to the dryer and leaks", "washer", lexicon).appliance == "washer"
    assert read_question("it leaks", "Dish washer", lexicon).appliance == "dishwasher"
    assert read_question("it leaks", "fridge", lexicon).appliance == "refrigerator"


def test_a_machine_that_is_not_known_is_kept_as_given(lexicon: Lexicon) -> None:
    assert read_question("it leaks", " Boat lift ", lexicon).appliance == "boat lift"


def test_no_machine_named(lexicon: Lexicon) -> None:
    assert read_question("no heat", None, lexicon).appliance is None


def test_a_count_belongs_to_signals_only(lexicon: Lexicon) -> None:
    symptoms = read_question("washer leaks and blinks five times", None, lexicon).symptoms
    assert set(symptoms) == {AskedSymptom("leaks"), AskedSymptom("blinks", 5)}


@pytest.mark.parametrize("text", ["oven shows error code E24", "oven shows e24", "oven error E 24"])
def test_a_code_is_read_in_any_form(lexicon: Lexicon, text: str) -> None:
    assert AskedSymptom("error_code", None, "E24") in read_question(text, None, lexicon).symptoms


def test_parts_are_named_as_on_that_machine(lexicon: Lexicon) -> None:
    assert read_question("dishwasher door latch worn", None, lexicon).components == ("door latch",)
    assert "thermal fuse" in read_question("dryer thermal fuse blown", None, lexicon).components


@pytest.mark.parametrize("text", ["how do I bake sourdough bread", "motorcycle will not idle"])
def test_what_is_not_of_the_trade_names_nothing(lexicon: Lexicon, text: str) -> None:
    question = read_question(text, None, lexicon)
    assert (question.appliance, question.symptoms, question.components) == (None, (), ())
