"""Sentences judged by hand, so that reading is tested apart from the heads."""

from __future__ import annotations

from kbindex.reading.kinds import HEADS, Judged
from kbindex.records import At, Kind, Sentence

PATH = "recordings/bench.mp4"


def judged(kind: Kind, **chances: dict[str, float]) -> Judged:
    """A verdict sure of a kind; of the other heads their first class, unless given."""
    sure = {name: {one: float(place == 0) for place, one in enumerate(classes)} for name, classes in HEADS.items()}
    return Judged({**sure, "kind": {one.value: float(one is kind) for one in Kind}, **chances})


def told(*said: tuple[Kind, str]) -> tuple[list[Sentence], list[Judged]]:
    """Sentences one after another, each with its verdict."""
    sentences = [Sentence(text, text, At(PATH, None, 10.0 * place, 10.0 * place + 5)) for place, (_, text) in enumerate(said)]
    return sentences, [judged(kind) for kind, _ in said]
