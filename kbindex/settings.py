"""The shop's settings and where its library is."""

from __future__ import annotations

import json
import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path

from kbindex.errors import SettingsError

SETTINGS_FILE = "settings.toml"

COLUMN_MEANINGS = (
    "number", "date", "machine", "complaint", "found", "work", "parts", "result", "price", "minutes", "customer", "earlier job",
    "remarks", "ignore",
)  # fmt: skip
"""What a column of a table of tickets can be said to hold."""


@dataclass(frozen=True)
class Settings:
    """What a shop may set, in `settings.toml` in its library folder; every value has a default.

    Attributes:
        currency: ISO 4217 code of prices said without a currency.
        hourly_rate: What an hour of work costs, in `currency`; prices the order of steps.
        usual_minutes: Minutes of an attempt where no job tells any.
        day_first: Whether 3/4 is the third of April.
        speech_model: Registered name of a speech model, or a folder that holds one.
        sentence_model: Registered name of a sentence-vector model, or a folder that holds one.
        words: The shop's own words, given to the recogniser as hotwords.
        parts: The shop's own list of parts, a TOML file in the form of `reading/data/parts.toml`; a relative path starts at the
            library folder, an empty one means that there is none.
        allow_hub: Whether weights that no folder or package has may be fetched from the hub; else nothing is fetched.
        columns: Headings of the shop's tables with what their columns hold, one of `COLUMN_MEANINGS`.
    """

    currency: str = "USD"
    hourly_rate: float = 90.0
    usual_minutes: float = 30.0
    day_first: bool = False
    speech_model: str = "whisper-base"
    sentence_model: str = "all-minilm-l6-v2"
    words: tuple[str, ...] = ()
    parts: str = ""
    allow_hub: bool = False
    columns: Mapping[str, str] = field(default_factory=dict)


def library_folder(asked: Path | None, environment: Mapping[str, str] = os.environ) -> Path:
    """Choose the library folder: what was asked for, else `KBINDEX_LIBRARY`, else the platform's data folder."""
    if asked is not None:
        return asked.expanduser()
    if named := environment.get("KBINDEX_LIBRARY"):
        return Path(named).expanduser()
    from platformdirs import user_data_path

    return user_data_path("kbindex", appauthor=False) / "library"


def load_settings(library: Path) -> Settings:
    """Read `settings.toml` of a library; the defaults where there is none.

    Raises:
        SettingsError: The file is not TOML, holds an unknown name, or a value that cannot be used.
    """
    path = library / SETTINGS_FILE
    if not path.is_file():
        return Settings()
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} is not a TOML file ({error}); correct it or remove it") from error
    return _apply(given, path)


def _apply(given: Mapping[str, object], path: Path) -> Settings:
    defaults = Settings()
    known = {field.name for field in fields(Settings)}
    changes: dict[str, object] = {}
    for name, value in given.items():
        if name not in known:
            raise SettingsError(f"{path}: '{name}' is not a setting; the settings are {', '.join(sorted(known))}")
        changes[name] = _checked(name, value, getattr(defaults, name), path)
    return replace(defaults, **changes)  # type: ignore[arg-type]


def _checked(name: str, value: object, default: object, path: Path) -> object:
    if isinstance(default, Mapping):
        if isinstance(value, dict):
            return {heading: _checked_meaning(heading, meaning, path) for heading, meaning in value.items()}
    elif isinstance(default, tuple):
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return tuple(value)
    elif isinstance(default, float):
        if isinstance(value, int | float) and not isinstance(value, bool) and value > 0:
            return float(value)
    elif type(value) is type(default):
        return value
    raise SettingsError(f"{path}: '{name}' cannot be {value!r}; its default is {default!r}")


def _checked_meaning(heading: str, meaning: object, path: Path) -> str:
    if meaning in COLUMN_MEANINGS:
        return str(meaning)
    raise SettingsError(f"{path}: a column cannot hold {meaning!r} ('{heading}'); {known_meanings()}")


def known_meanings() -> str:
    """What a column can be said to hold, for a person."""
    return f"the meanings known are: {', '.join(COLUMN_MEANINGS)}"


def say_columns(heading: str) -> str:
    """What to do about a table whose columns cannot be told."""
    return f'say what they hold with --columns "{heading}=complaint, ..." ({known_meanings()}), or take it out of the folder'


_NAMED_COLUMN_RE = re.compile(r"\s*(?P<heading>[^=]+?)\s*=\s*(?P<meaning>[^=,;]*?)\s*(?:[,;]|$)")


def read_columns(asked: Sequence[str]) -> dict[str, str]:
    """Read "their heading=meaning, ..."; a heading may hold commas, a later word on a heading counts.

    Raises:
        SettingsError: It is not of that form, or a meaning is not known.
    """
    columns: dict[str, str] = {}
    for text in asked:
        place = 0
        while text[place:].strip(" ,;"):
            match = _NAMED_COLUMN_RE.match(text, place)
            meaning = " ".join(match.group("meaning").lower().split()) if match else ""
            if match is None or meaning not in COLUMN_MEANINGS:
                raise SettingsError(f"--columns cannot use '{text[place:].strip()}'; write heading=meaning; {known_meanings()}")
            columns[match.group("heading")] = meaning
            place = match.end()
    return columns


def with_columns(text: str, columns: Mapping[str, str], path: Path) -> str:
    """Write columns into the text of a settings file, at its end; the rest of the file stays as it is.

    Raises:
        SettingsError: The file names its columns in another manner, which is for a person to mend.
    """
    rest = re.sub(r"(?ms)^[ \t]*\[columns\].*?(?=^[ \t]*\[|\Z)", "", text).rstrip()
    lines = [f"{_quoted(heading)} = {_quoted(meaning)}" for heading, meaning in columns.items()]
    written = "\n".join([*([rest, ""] if rest else []), "[columns]", *lines, ""])
    try:
        tomllib.loads(written)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(
            f"{path}: the columns cannot be added ({error}); write them there yourself, under [columns]"
        ) from error
    return written


def _quoted(text: str) -> str:
    """A TOML string; JSON's escapes are TOML's too."""
    return json.dumps(text, ensure_ascii=False)
