"""Sentences with verdicts made by hand: what the heads would say, so that the rules behind them can be tested alone."""

from __future__ import annotations

from collections.abc import Sequence

from kbindex.reading.kinds import HEADS, Judged, Pointed
from kbindex.records import At, Operation, Sentence


def verdict(
    kind: str = "aside",
    *,
    attempt: float = 0.0,
    turn: str = "none",
    sure: float = 0.9,
    operation: str = "replace",
    by: str = "us",
    on: Sequence[str] = (),
) -> Judged:
    """A verdict that is all but certain of what is given; work was done on the components `on`."""
    chances = {name: dict.fromkeys(classes, 0.0) for name, classes in HEADS.items()}
    chances["kind"][kind] = 1.0
    chances["attempt"].update(yes=attempt, no=1 - attempt)
    chances["turn"]["none"] = 1 - sure if turn != "none" else 1.0
    if turn != "none":
        chances["turn"][turn] = sure
    chances["operation"][operation] = 1.0
    chances["by"][by] = 1.0
    return Judged(chances, components=tuple(Pointed(one, 0, True, 0.9, Operation(operation)) for one in on))


def sentence(text: str, number: int = 0, path: str = "walk.mp4") -> Sentence:
    """A spoken sentence that starts at ten seconds times its number."""
    return Sentence(text, text, At(path, None, 10.0 * number, 10.0 * number + 5))


def written(text: str, path: str = "note.txt") -> Sentence:
    """A piece of a note."""
    return Sentence(text, text, At(path))


Told = list[tuple[str, Judged]]


def action(text: str, *on: str, **changes: object) -> tuple[str, Judged]:
    """A sentence judged to tell of work on components."""
    return text, verdict("action", on=on, **{"attempt": 0.95, **changes})  # type: ignore[arg-type]


def result(text: str, turn: str, sure: float = 0.9) -> tuple[str, Judged]:
    """A sentence judged to tell of a result."""
    return text, verdict("result", turn=turn, sure=sure)
