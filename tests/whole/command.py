"""Running the command in this process or another, and the few documents that most tests take in."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from kbindex import assemble, cli
from kbindex.contracts import SentenceEncoder

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


def run_main(encoder: SentenceEncoder, *arguments: str | Path) -> Done:
    """Run the command in this process, with its own handling of errors and with an encoder that is loaded already."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(err):
        patch.setattr(assemble, "OnnxMiniLm", lambda name, **_: encoder)
        patch.setattr(sys, "argv", ["kbindex", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
    assert "Traceback" not in err.getvalue()
    return Done(int(ended.value.code or 0), out.getvalue(), err.getvalue())


def run_python(code: str, *arguments: str | Path, timeout_s: float = 120) -> Done:
    """Run Python code in a process of its own, with the environment of this one."""
    done = subprocess.run([sys.executable, "-c", code, *map(str, arguments)], capture_output=True, text=True, timeout=timeout_s)
    return Done(done.returncode, done.stdout, done.stderr)


def write_notes(folder: Path) -> Path:
    """Short notes and timed text about four jobs."""
    folder.mkdir()
    for name, text in NOTES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
