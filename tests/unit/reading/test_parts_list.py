"""A shop's own list of parts: laid over the trade's, and refused with a word on what to do where it cannot be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kbindex.errors import SettingsError
from kbindex.reading.lexicon import Lexicon, load_lexicon, machine_names
from kbindex.reading.parts_list import PartsList, PartTable, ShopParts, list_parts
from kbindex.reading.shop_parts import read_shop_parts

LATCH = PartTable("door latch", ("dishwasher", "dryer"), ("door catch",), ("latch",), ("door ladge",), ("dishwasher",))
BAFFLE = PartTable(
    "drum baffle", ("dryer", "washer"), ("drum fin", "lifter"), ("paddle",), ("drum waffle",), ("dryer", "washer")
)
SCREW = PartTable("screw", ("dryer",), minor=True)
SHIPPED = (LATCH, BAFFLE, SCREW)
PADDLE = PartTable("flux paddle", ("dryer",))


def laid_over(*tables: PartTable) -> PartsList:
    return list_parts(SHIPPED, ShopParts(tables), ("dishwasher", "dryer", "washer"))


def shop_lexicon(text: str) -> Lexicon:
    return load_lexicon(read_shop_parts(text, "parts.toml", machine_names()))


def named(lexicon: Lexicon, text: str, machine: str | None = None) -> list[str]:
    return [mention.component for mention in lexicon.find_parts(text, machine)]


def test_without_tables_the_list_is_the_shipped_one() -> None:
    parts = laid_over()
    assert parts.phrases == {
        "door catch": "door latch", "drum fin": "drum baffle", "lifter": "drum baffle",
        "door latch": "door latch", "drum baffle": "drum baffle", "screw": "screw",
    }  # fmt: skip
    assert parts.shorts == {"latch": ("door latch",), "paddle": ("drum baffle",)}
    assert parts.minor == {"screw"}
    assert parts.mishearings == {"door ladge": "door latch", "drum waffle": "drum baffle"}
    assert (read_shop_parts("# nothing yet\n", "parts.toml", {}), ShopParts().digest) == (ShopParts(), "")
    assert load_lexicon(ShopParts()) is load_lexicon()


def test_a_table_of_a_known_name_adds_to_the_part() -> None:
    parts = laid_over(PartTable("Door-latch", ("washer",), ("door gripper",), ("gripper",), ("door grip her",), ("dryer",)))
    assert (parts.phrases["door gripper"], parts.phrases["door catch"]) == ("door latch", "door latch")
    assert (parts.shorts["gripper"], parts.shorts["latch"]) == (("door latch",), ("door latch",))
    assert parts.machines["door latch"] == {"dishwasher", "dryer", "washer"}
    assert parts.mishearings["door grip her"] == parts.mishearings["door ladge"] == "door latch"
    assert {machine for word, machine in parts.defaults if word == "latch"} == {"dishwasher", "dryer"}
    assert {machine for word, machine in parts.defaults if word == "gripper"} == {"dryer"}
    assert set(parts.machines) == {"door latch", "drum baffle", "screw"}


def test_another_name_is_a_new_part_on_its_machines_or_on_all() -> None:
    parts = laid_over(PADDLE, PartTable("flux clip", also=("clip of flux",), minor=True))
    assert (parts.phrases["flux paddle"], parts.phrases["clip of flux"]) == ("flux paddle", "flux clip")
    assert (parts.machines["flux paddle"], parts.machines["flux clip"]) == ({"dryer"}, {"dishwasher", "dryer", "washer"})
    assert parts.minor == {"screw", "flux clip"}
    assert laid_over(PartTable("screw", minor=False)).minor == frozenset()


@pytest.mark.parametrize(
    "table",
    [PartTable("flux paddle", ("dryer",), ("lifter",)), PartTable("lifter", ("dryer",))],
    ids=["as a synonym", "as a name"],
)
def test_a_full_name_that_the_shop_claims_is_taken_from_the_shipped_part(table: PartTable) -> None:
    parts = laid_over(table)
    assert parts.phrases["lifter"] == table.name
    assert parts.phrases["drum fin"] == "drum baffle"


def test_even_the_name_of_a_shipped_part_can_be_claimed() -> None:
    parts = laid_over(PartTable("flux paddle", ("dryer",), ("drum baffle",), heard=("door ladge",)))
    assert parts.phrases["drum baffle"] == "flux paddle"
    assert parts.mishearings == {"door ladge": "flux paddle", "drum waffle": "drum baffle"}


def test_a_short_word_of_the_shipped_list_that_the_shop_gives_as_a_full_name() -> None:
    parts = laid_over(PartTable("flux paddle", ("dryer",), ("paddle",)))
    assert parts.phrases["paddle"] == "flux paddle"
    assert "paddle" not in parts.shorts
    assert not [word for word, _ in parts.defaults if word == "paddle"]


def test_a_short_word_of_the_shop_means_its_part_there_and_the_shipped_one_elsewhere() -> None:
    parts = laid_over(PartTable("flux paddle", ("dryer",), short=("paddle", "lifter")))
    for word in ("paddle", "lifter"):
        assert parts.shorts[word] == ("flux paddle", "drum baffle")
        assert (parts.defaults[word, "dryer"], parts.defaults[word, "washer"]) == ("flux paddle", "drum baffle")
    assert "lifter" not in parts.phrases


def test_default_for_says_on_which_of_its_machines_a_short_word_means_the_part() -> None:
    parts = laid_over(PartTable("flux paddle", ("dryer", "washer"), short=("paddle",), default_for=("washer",)))
    assert (parts.defaults["paddle", "dryer"], parts.defaults["paddle", "washer"]) == ("drum baffle", "flux paddle")


def test_what_is_heard_wins_too_and_does_not_break_what_the_shop_says() -> None:
    shop = '[[part]]\nname = "door lash bracket"\nheard = ["door latch bracelet"]\n[[part]]\nname = "dor latch"\n'
    lexicon = shop_lexicon(shop)
    assert load_lexicon().mend("the door lash bracket and the dor latch") == "the door latch bracket and the door latch"
    assert lexicon.mend("the door lash bracket and the dor latch") == "the door lash bracket and the dor latch"
    assert lexicon.mend("new door latch bracelet, door lash is fine") == "new door lash bracket, door latch is fine"


def test_words_are_found_with_the_list_and_not_without() -> None:
    shop = '[[part]]\nname = "zurt paddle"\nmachines = ["drier"]\nalso = ["zrt pdl", "humdinger"]\nshort = ["blade"]\n'
    lexicon = shop_lexicon(shop)
    for text in ("Replaced the Zurt paddles.", "new zrt pdl", "the humdinger's worn", "zrt paddle in"):
        assert named(lexicon, text, "dryer") == ["zurt paddle"], text
        assert named(load_lexicon(), text, "dryer") != ["zurt paddle"], text
    assert (named(lexicon, "the blade", "dryer"), named(lexicon, "the blade", "water heater")) == (["zurt paddle"], [])
    assert named(lexicon, "the thermal fuse", "dryer") == ["thermal fuse"]


def test_the_shops_words_leave_the_shorthand_of_the_shipped_list_as_it_is() -> None:
    lexicon = shop_lexicon('[[part]]\nname = "valvo hose"\n')  # its consonants are those of "valve"
    assert lexicon.skeletons == load_lexicon().skeletons
    assert named(lexicon, "repl water inlet vlv", "washer") == ["inlet valve"]


def test_the_digest_changes_with_what_is_said_and_not_with_how_it_is_written() -> None:
    text = '[[part]]\nname = "flux paddle"\nalso = ["humdinger"]\n'
    same = '# ours\n[[part]]\nalso = [\n  "humdinger",\n]\nname = "Flux  paddle"\nshort = []\n'
    lexicon = shop_lexicon(text)
    assert re.fullmatch("[0-9a-f]{8}", lexicon.shop_parts)
    assert shop_lexicon(same).shop_parts == lexicon.shop_parts
    assert shop_lexicon(text.replace("humdinger", "humdingers")).shop_parts != lexicon.shop_parts
    assert load_lexicon().shop_parts == ""


PART = '[[part]]\nname = "flux paddle"\n'
OTHER = '[[part]]\nname = "mix paddle"\n'


@pytest.mark.parametrize(
    ("text", "told", "what_next"),
    [
        ("[[part]\n", "shop.toml is not a TOML file", "correct it, or take 'parts' out of the settings"),
        ('name = "flux paddle"\n', "'name' is in no table", "write [[part]] above it"),
        ('[part]\nname = "flux paddle"\n', "'part' is not a list of tables", "with two brackets"),
        ("part = [1]\n", "'part' is not a list of tables", "with two brackets"),
        (PART + '[[part]]\nalso = ["humdinger"]\n', "[[part]] table 2 has no name", "give it one"),
        ('[[part]]\nname = " - "\n', "table 1 (' - ') has no name", "give it one"),
        ("[[part]]\nname = 3\n", "table 1 has a name that is no text (3)", "write it in quotes"),
        (PART + 'alias = ["humdinger"]\n', "table 1 ('flux paddle') has a key 'alias'", "the keys are name, machines, also,"),
        (PART + 'also = "humdinger"\n', "('flux paddle') cannot have 'humdinger' as 'also'", "write a list of texts"),
        (PART + "short = [1]\n", "('flux paddle') cannot have [1] as 'short'", "write a list of texts"),
        (PART + 'minor = "no"\n', "('flux paddle') cannot have 'no' as 'minor'", "write true or false"),
        (PART + 'machines = ["boat lift"]\n', "names a machine 'boat lift' in 'machines'", "the machines are air fryer, "),
        (PART + 'also = ["..."]\n', "has '...' among its words", "take it out"),
        (PART + 'heard = ["a b c d e f g"]\n', "has 'a b c d e f g', which is too long", "leave 6 words of it at most"),
        (PART + 'also = ["Fin"]\n' + OTHER + 'also = ["fin"]', "'fin' is claimed by [[part]] table 1 ", "leave it"),
        (PART + 'also = ["mix-paddle"]\n' + OTHER, "'mix paddle' is claimed by [[part]] table 1", "leave it in one"),
        (PART + 'short = ["fin"]\n' + OTHER + 'heard = ["fin"]\n', "and table 1 ('flux paddle')", "leave it in one"),
        (PART + 'short = ["fin"]\n' + OTHER + 'short = ["fin"]\n', "and table 2 ('mix paddle')", "if they name machines"),
    ],
)  # fmt: skip
def test_a_list_that_cannot_be_is_told_with_its_table_and_what_to_do(text: str, told: str, what_next: str) -> None:
    with pytest.raises(SettingsError) as caught:
        read_shop_parts(text, "shop.toml", machine_names())
    message = str(caught.value)
    assert message.startswith("shop.toml"), message
    assert told in message
    assert what_next in message.split("; ", 1)[1]


def test_the_example_of_the_readme_is_one() -> None:
    readme = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", readme, re.DOTALL)
    lexicon = shop_lexicon(example)
    for words in ("flux paddle", "humdinger", "flx pdl", "paddle", lexicon.mend("flocks paddle")):
        assert named(lexicon, words, "dryer") == ["flux paddle"], words
    assert named(lexicon, "clicker") == ["door latch"]


def test_a_short_word_may_be_of_two_parts_on_different_machines_and_one_part_may_have_two_tables() -> None:
    both = PART + 'machines = ["dryer"]\nshort = ["fin"]\n' + OTHER + 'machines = ["coffee machine"]\nshort = ["fin"]\n'
    lexicon = shop_lexicon(both)
    assert named(lexicon, "the fin", "dryer") == ["flux paddle"]
    assert named(lexicon, "the fin", "coffee machine") == ["mix paddle"]
    twice = shop_lexicon(PART + 'also = ["humdinger"]\n' + PART + 'also = ["humdinger", "whirly fin"]\n')
    assert named(twice, "humdinger, whirly fin") == ["flux paddle", "flux paddle"]
