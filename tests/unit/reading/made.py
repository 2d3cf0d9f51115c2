"""Sentences with verdicts made by hand: what the heads would say, so that the rules behind them can be tested alone."""

from __future__ import annotations

from collections.abc import Sequence

from kbindex.reading.amount_links import AmountLinks, Link
from kbindex.reading.amounts import Money
from kbindex.reading.kinds import HEADS, Judged, Pointed, Verdicts
from kbindex.reading.lexicon import Mention
from kbindex.reading.result_choice import NOTHING_SHOWN, Shown
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


class _Alike(dict[str, float]):
    """The same chance for whatever is asked."""

    def get(self, key: str, default: object = None) -> float:  # type: ignore[override]
        return 0.3


class Linked:
    """Links of amounts that follow the words beside them: every component is as likely as any other."""

    def of_share(self, place: int, start: int, end: int) -> Link:
        return Link(_Alike())

    def of_price(self, place: int, start: int, end: int) -> Link:
        return Link({})

    def is_price(self, place: int, money: Money, has_currency: bool) -> float:
        return 1.0


class Unshown:
    """A choice by which nothing shows how work turned out."""

    def choose(self, work: int, works: Sequence[int]) -> Shown:
        return NOTHING_SHOWN


def verdicts(judged: Sequence[Judged], mentions: Sequence[Sequence[Mention]], amounts: AmountLinks | None = None) -> Verdicts:
    """Verdicts for the sentences of one job."""
    return Verdicts(judged, mentions, Unshown(), amounts or Linked())


Told = list[tuple[str, Judged]]


def action(text: str, *on: str, **changes: object) -> tuple[str, Judged]:
    """A sentence judged to tell of work on components."""
    return text, verdict("action", on=on, **{"attempt": 0.95, **changes})  # type: ignore[arg-type]


def result(text: str, turn: str, sure: float = 0.9) -> tuple[str, Judged]:
    """A sentence judged to tell of a result."""
    return text, verdict("result", turn=turn, sure=sure)
