"""A question in a fresh process loads nothing heavy: ingest has made the light encoder ready."""

from __future__ import annotations

from pathlib import Path

from command import Run

HEAVY = ("torch", "transformers", "sentence_transformers", "faster_whisper", "ctranslate2", "av")
ASK = f"""
import sys
sys.argv = ["kbindex", "ask", "won't start, three beeps"]
from kbindex.cli import main
try:
    main()
except SystemExit as ended:
    print("ended", ended.code)
print("loaded", [name for name in {HEAVY!r} if name in sys.modules])
"""


def test_a_cold_question_loads_nothing_heavy(stocked: Path, python: Run, cache: Path) -> None:
    assert list(cache.rglob("*.onnx")), "ingest has not made the light encoder"
    done = python(ASK)
    assert done.err == ""
    assert done.out.splitlines()[-2:] == ["ended 0", "loaded []"]
    assert "1. replace door latch" in done.out
