"""The shop's settings and where its library is."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path

from kbindex.errors import SettingsError

SETTINGS_FILE = "settings.toml"


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
        allow_hub: Whether weights that no folder or package has may be fetched from the hub; else nothing is fetched.
    """

    currency: str = "USD"
    hourly_rate: float = 90.0
    usual_minutes: float = 30.0
    day_first: bool = False
    speech_model: str = "whisper-base"
    sentence_model: str = "all-minilm-l6-v2"
    words: tuple[str, ...] = ()
    allow_hub: bool = False


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
    if isinstance(default, tuple):
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return tuple(value)
    elif isinstance(default, float):
        if isinstance(value, int | float) and not isinstance(value, bool) and value > 0:
            return float(value)
    elif type(value) is type(default):
        return value
    raise SettingsError(f"{path}: '{name}' cannot be {value!r}; its default is {default!r}")
