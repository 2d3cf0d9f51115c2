"""The whole program as a shop runs it: the real command, a fresh library, the real sentence model loaded once a session."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from kbindex import assemble, cli
from kbindex.contracts import SentenceEncoder
from kbindex.engines.sentence_vectors import OnnxMiniLm


@dataclass(frozen=True)
class Done:
    """How a command ended and what it printed."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> list[str]:
        """The lines on standard error that are no progress of an ingest ("[1/3] reading ...")."""
        return [line for line in self.err.splitlines() if not line.startswith("[")]


Run = Callable[..., Done]


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache folder of the tests' own, so that the session shows what a new machine would do."""
    folder = tmp_path_factory.mktemp("cache")
    before = os.environ.get("KBINDEX_CACHE")
    os.environ["KBINDEX_CACHE"] = str(folder)
    yield folder
    if before is None:
        del os.environ["KBINDEX_CACHE"]
    else:
        os.environ["KBINDEX_CACHE"] = before


@pytest.fixture(scope="session")
def encoder(cache: Path) -> OnnxMiniLm:
    """The real sentence encoder, loaded when first used and then kept."""
    return OnnxMiniLm()


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A library folder that is not there yet; commands use it unless told otherwise."""
    folder = tmp_path / "library"
    monkeypatch.setenv("KBINDEX_LIBRARY", str(folder))
    return folder


def run_main(encoder: SentenceEncoder, *arguments: str | Path) -> Done:
    """Run the command in this process, with its own handling of errors and with an encoder that is loaded already."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(err):
        patch.setattr(assemble, "OnnxMiniLm", lambda name: encoder)
        patch.setattr(sys, "argv", ["kbindex", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
    assert "Traceback" not in err.getvalue()
    return Done(int(ended.value.code or 0), out.getvalue(), err.getvalue())


@pytest.fixture
def run(library: Path, encoder: OnnxMiniLm) -> Run:
    """Run the command on the test's library, with the real encoder."""
    return partial(run_main, encoder)


def run_python(code: str, *arguments: str | Path, timeout_s: float = 120) -> Done:
    """Run Python code in a process of its own, with the environment of this one."""
    done = subprocess.run([sys.executable, "-c", code, *map(str, arguments)], capture_output=True, text=True, timeout=timeout_s)
    return Done(done.returncode, done.stdout, done.stderr)


@pytest.fixture
def python(library: Path, cache: Path) -> Run:
    """Run Python code in a process of its own, on the test's library."""
    return run_python


def write_notes(folder: Path) -> Path:
    """Short notes and timed text about four jobs."""
    folder.mkdir()
    for name, text in NOTES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def notes(tmp_path: Path) -> Path:
    """A folder of short notes and timed text about four jobs."""
    return write_notes(tmp_path / "notes")


@pytest.fixture(scope="session")
def stock(tmp_path_factory: pytest.TempPathFactory, encoder: OnnxMiniLm) -> Path:
    """A library of these documents, made once; it is copied, never written."""
    folder = tmp_path_factory.mktemp("stock")
    done = run_main(encoder, "ingest", write_notes(folder / "notes"), "--library", folder / "library")
    assert done.code == 0, done.err
    return folder / "library"


@pytest.fixture
def stocked(stock: Path, library: Path) -> Path:
    """The test's library, with these documents in it."""
    shutil.copytree(stock, library)
    return library


NOTES = {
    "2304-washer.vtt": (
        "WEBVTT\n\n00:00:01.000 --> 00:00:04.500\nJob 2304. The washer will not drain, it stops full of water.\n\n"
        "00:00:05.000 --> 00:00:09.250\nI cleaned the drain pump, a coin was in it.\n\n"
        "00:00:10.000 --> 00:00:13.000\nRan a rinse and it drains fine now.\n"
    ),
    "2301-dishwasher.txt": (
        "Job 2301. Dishwasher won't start, three beeps and nothing. Door switch measured 0.4 ohm, good.\n"
        "Replaced the door latch. Ran a full cycle, starts every time.\nLatch was 42 dollars. 35 minutes.\n"
    ),
    "2302-dishwasher.txt": (
        "Job 2302. Dishwasher dead at the buttons, beeps three times, will not start.\n"
        "Replaced the control board, no change, still beeps. Then replaced the door latch and it ran a full cycle.\n"
    ),
    "2303-dryer.md": (
        "Job 2303. Dryer tumbles but no heat.\n\nThermal fuse was open. Replaced the thermal fuse. "
        "Ran it twenty minutes, good heat now.\n"
    ),
}
