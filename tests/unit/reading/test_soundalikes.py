"""Trade words mended by their sound."""

import pytest

from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.soundalikes import SoundAlikes, sound_key

NAMES = ("igniter", "drain pump", "run capacitor", "evaporator", "solenoid", "vent duct", "fan")


@pytest.mark.parametrize(
    ("heard", "name"),
    [("ig nighter", "igniter"), ("run capacity her", "run capacitor"), ("evaporate her", "evaporator"), ("coyle", "coil")],
)
def test_what_sounds_alike_has_one_key(heard: str, name: str) -> None:
    assert sound_key(heard) == sound_key(name)


@pytest.mark.parametrize(
    ("text", "mended"),
    [
        ("so the ig nighter glows", "so the igniter glows"),
        ("a new run capacity her went in", "a new run capacitor went in"),
        ("both evaporate hers", "both evaporators"),
        ("the drain pump hums", "the drain pump hums"),
        ("a fine day for it", "a fine day for it"),
        ("drain, pimp", "drain, pimp"),
        ("", ""),
    ],
)
def test_names_are_put_back_and_english_is_left_alone(text: str, mended: str) -> None:
    assert SoundAlikes.of(NAMES).mend(text) == mended


def test_the_lexicon_mends_captions_by_sound_and_typed_text_only_by_its_list() -> None:
    lexicon = load_lexicon()
    assert "evaporator" in lexicon.mend_by_sound("ice on the evaporate her again")
    assert lexicon.mend("ice on the evaporate her again") == "ice on the evaporate her again"
