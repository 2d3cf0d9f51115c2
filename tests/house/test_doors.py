"""The doors: every error has an exit code, every command explains itself, and nothing heavy loads before it is needed."""

import subprocess
import sys

import pytest
from typer.testing import CliRunner

from kbindex import errors
from kbindex.cli import EXIT_CODES, app, exit_code_of

ALL_ERRORS = [one for one in vars(errors).values() if isinstance(one, type) and issubclass(one, errors.KbindexError)]
HEAVY = ("torch", "faster_whisper", "sentence_transformers", "transformers", "ctranslate2", "av", "scipy", "sklearn")


@pytest.mark.parametrize("error", ALL_ERRORS, ids=lambda error: error.__name__)
def test_every_error_has_an_exit_code(error: type[errors.KbindexError]) -> None:
    nearest = next(one for one in error.__mro__ if one in EXIT_CODES)
    assert issubclass(error, nearest)
    assert nearest is not errors.KbindexError or error is errors.KbindexError, f"{error.__name__} falls through to the base"
    assert exit_code_of(error.__new__(error)) == EXIT_CODES[nearest] != 0


@pytest.mark.parametrize("error", ALL_ERRORS, ids=lambda error: error.__name__)
def test_the_error_tree_names_every_error(error: type[errors.KbindexError]) -> None:
    assert errors.__doc__ is not None
    assert error.__name__ in errors.__doc__


@pytest.mark.parametrize("command", ["ingest", "ask", "export", "show", "review"])
def test_help_explains_and_gives_an_example(command: str) -> None:
    result = CliRunner().invoke(app, [command, "--help"])
    assert result.exit_code == 0
    assert "Example: kbindex " + command in result.output


def test_help_loads_nothing_heavy() -> None:
    code = f"import sys; import kbindex.cli; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
