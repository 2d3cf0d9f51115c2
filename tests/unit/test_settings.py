"""The shop's settings, and where its library is."""

from pathlib import Path

import pytest

from kbindex.errors import SettingsError
from kbindex.settings import SETTINGS_FILE, Settings, library_folder, load_settings, read_columns, with_columns


def write(folder: Path, text: str) -> Path:
    (folder / SETTINGS_FILE).write_text(text, encoding="utf-8")
    return folder


def test_without_a_file_the_defaults_hold(tmp_path: Path) -> None:
    assert load_settings(tmp_path) == Settings()
    assert load_settings(write(tmp_path, "")) == Settings()


def test_every_setting_can_be_given(tmp_path: Path) -> None:
    text = (
        'currency = "EUR"\nhourly_rate = 75\nusual_minutes = 20.5\nday_first = true\nspeech_model = "whisper-tiny.en"\n'
        'sentence_model = "models/own"\nwords = ["spider arm", "bi-metal"]\n'
        'parts = "our parts.toml"\n'
    )
    expected = Settings("EUR", 75.0, 20.5, True, "whisper-tiny.en", "models/own", ("spider arm", "bi-metal"), "our parts.toml")
    found = load_settings(write(tmp_path, text))
    assert found == expected
    assert isinstance(found.hourly_rate, float)


@pytest.mark.parametrize(
    "line",
    [
        "hourly_rate = 0",
        "hourly_rate = true",
        'usual_minutes = "30"',
        'day_first = "yes"',
        "currency = 3",
        'words = "one"',
        "words = [1]",
        'parts = ["parts.toml"]',
        'columns = "a=date"',
    ],
)
def test_a_value_that_cannot_be_is_named_with_its_file_and_default(tmp_path: Path, line: str) -> None:
    name = line.split(" = ")[0]
    with pytest.raises(SettingsError) as caught:
        load_settings(write(tmp_path, line))
    assert f"'{name}' cannot be" in str(caught.value)
    assert str(tmp_path / SETTINGS_FILE) in str(caught.value)
    assert repr(getattr(Settings(), name)) in str(caught.value)


def test_an_unknown_name_is_told_with_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(
        SettingsError, match="'colour' is not a setting; the settings are allow_hub, columns, currency, day_first"
    ):
        load_settings(write(tmp_path, 'colour = "red"'))


@pytest.mark.parametrize("data", [b"currency = ", b'currency = "\xe9"'])
def test_a_file_that_is_no_toml(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS_FILE).write_bytes(data)
    with pytest.raises(SettingsError, match="is not a TOML file .*correct it or remove it"):
        load_settings(tmp_path)


def test_the_library_is_where_it_was_asked_for_then_named_then_usual(tmp_path: Path) -> None:
    named = {"KBINDEX_LIBRARY": str(tmp_path / "named")}
    assert library_folder(tmp_path / "asked", named) == tmp_path / "asked"
    assert library_folder(None, named) == tmp_path / "named"
    assert library_folder(Path("~/asked"), {}) == Path.home() / "asked"
    for nothing in ({}, {"KBINDEX_LIBRARY": ""}):
        usual = library_folder(None, nothing)
        assert usual.is_absolute()
        assert usual.parts[-2:] == ("kbindex", "library")


@pytest.mark.parametrize(
    ("asked", "columns"),
    [
        ([], {}),
        (["the box=machine"], {"the box": "machine"}),
        (["what I saw, what I did = Work, clock=minutes;"], {"what I saw, what I did": "work", "clock": "minutes"}),
        (["no=Earlier  Job"], {"no": "earlier job"}),
        (["a=date", "a=ignore"], {"a": "ignore"}),
    ],
)
def test_columns_are_read_as_people_write_them(asked: list[str], columns: dict[str, str]) -> None:
    assert read_columns(asked) == columns


@pytest.mark.parametrize("asked", ["the box", "the box=", "the box=engine", "=date", "a=date, the box"])
def test_columns_that_cannot_be_used_are_told_with_the_meanings(asked: str) -> None:
    with pytest.raises(
        SettingsError, match="--columns cannot use .*; write heading=meaning; the meanings known are: number, date"
    ):
        read_columns([asked])


def test_columns_are_added_to_a_settings_file_and_the_rest_stays(tmp_path: Path) -> None:
    file = tmp_path / SETTINGS_FILE
    before = '# ours\ncurrency = "EUR"\n\n[columns]\n"old" = "date"\n'
    columns = {'the "box"': "machine", "clóck": "minutes"}
    load_settings(write(tmp_path, with_columns(before, columns, file)))
    found = load_settings(tmp_path)
    assert (found.currency, found.columns) == ("EUR", columns)
    assert file.read_text(encoding="utf-8").startswith("# ours\n")


def test_columns_that_a_person_wrote_in_one_line_are_left_to_the_person(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"write them there yourself, under \[columns\]"):
        with_columns('columns = {a = "date"}\n', {"b": "work"}, tmp_path / SETTINGS_FILE)


def test_a_meaning_that_is_not_known_in_the_file(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="a column cannot hold 'engine' .'the box'.; the meanings known are: number"):
        load_settings(write(tmp_path, '[columns]\n"the box" = "engine"\n'))
