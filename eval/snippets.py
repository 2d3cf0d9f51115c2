"""Snippets: short stretches of repair talk in a plain text file, each line with what it is, for training.

A file holds many, parted by blank lines. `== washer raw` opens one: the machine, then nothing for punctuated speech, `raw` for
automatic captions, or `note`. Each further line is `code | text`, one sentence or one thought of a note:

    sym leaks,noise | ...               a complaint with its tags
    chk | ...  cau | ...  asd | ...  saf | ...
    shr 0.7-0.8 drain pump | ...        a share said of a part
    cst 38 drain pump | ...             a price; "-" for labour
    do 1 replace drain pump other $38 = no_change | ...     work, by others, its price, its result if told here too
    do 1 replace belt + 2 clean drum roller | ...           two pieces of work in one sentence
    res 1,2 fixed | ...                 how work turned out
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

SNIPPETS = ".snippets"
"""How the files' names end; the name itself is the voice."""
_KINDS = {
    "sym": "symptom",
    "chk": "check",
    "cau": "cause",
    "asd": "aside",
    "saf": "caution",
    "shr": "share",
    "cst": "cost",
    "do": "action",
    "res": "result",
}
_WORK = re.compile(
    r"(?P<order>\d) (?P<operation>[a-z]+) (?P<component>[a-z][a-z' -]*?)"
    r"(?P<other> other)?(?: \$(?P<price>[\d.]+))?(?: = (?P<result>[a-z_]+))?"
)
_SHARE = re.compile(r"([\d.]+)-([\d.]+) (.+)")
_PRICE = re.compile(r"([\d.]+) (.+)")
_SHOWN = re.compile(r"([\d,]+) (fixed|no_change|partly|came_back)")


def read_snippets(text: str, voice: str) -> Iterator[dict[str, Any]]:
    """Give each snippet in the form of a labelled document (`say` or `lines`, `jobs`).

    Raises:
        ValueError: A line has not the form above; says which one.
    """
    for block in re.split(r"\n\s*\n", text.strip()):
        head, *lines = block.strip().splitlines()
        told = re.fullmatch(r"== ([a-z ]+?)(?: (raw|note))?", head.strip())
        if not told or not lines:
            raise ValueError(
                f"a snippet begins '== MACHINE', '== MACHINE raw' or '== MACHINE note', with lines below: {head!r}"
            )
        story = _Story(told[1])
        for line in lines:
            story.add(line)
        yield {
            "voice": voice,
            "captions": "raw" if told[2] == "raw" else "punctuated",
            "lines" if told[2] == "note" else "say": story.entries,
            "jobs": [story.job],
        }


class _Story:
    """Gathers the entries of a snippet and the job that they tell."""

    def __init__(self, machine: str) -> None:
        self.entries: list[dict[str, Any]] = []
        self._attempts: dict[int, dict[str, Any]] = {}
        self.job: dict[str, Any] = {"appliance": machine, "symptoms": [], "attempts": [], "stated_shares": [], "costs": []}

    def add(self, line: str) -> None:
        """Read one line."""
        code, bar, text = (part.strip() for part in line.partition("|"))
        name, _, rest = code.partition(" ")
        if not bar or not text or name not in _KINDS:
            raise ValueError(f"a line is 'code | text' with one of {', '.join(_KINDS)}: {line!r}")
        self.entries.append({"kind": _KINDS[name], "text": text})
        try:
            self._place(name, rest, len(self.entries))
        except (TypeError, KeyError, ValueError) as error:
            raise ValueError(f"'{code}' is not understood in {line!r} ({error})") from error

    def _place(self, name: str, rest: str, at: int) -> None:
        if name == "sym":
            self.job["symptoms"].append({"tags": rest.split(","), "at": at})
        elif name == "shr":
            low, high, component = _whole(_SHARE, rest)
            self.job["stated_shares"].append({"component": component, "low": float(low), "high": float(high), "at": at})
        elif name == "cst":
            amount, component = _whole(_PRICE, rest)
            self._cost(amount, None if component == "-" else component, at)
        elif name == "do":
            for one in rest.split(" + "):
                self._work(one, at)
        elif name == "res":
            orders, result = _whole(_SHOWN, rest)
            self.entries[-1]["event"] = result  # also of a result that a later one overtakes
            self._show([int(order) for order in orders.split(",")], result, at)
        elif rest:
            raise ValueError("nothing may follow")

    def _work(self, told: str, at: int) -> None:
        order, operation, component, other, price, result = _whole(_WORK, told)
        attempt = {"order": int(order), "operation": operation, "component": component, "at": at}
        attempt |= {"by": "other" if other else "us", "result": "untested", "result_at": None, "together_with": []}
        self._attempts[int(order)] = attempt
        self.job["attempts"].append(attempt)
        if price:
            self._cost(price, component, at)
        if result:
            self._show([int(order)], result, at)
            self.entries[-1]["event"], self.entries[-1]["also"] = "attempt", result

    def _cost(self, amount: str, component: str | None, at: int) -> None:
        self.job["costs"].append({"component": component, "amount": float(amount), "currency": "USD", "at": at})

    def _show(self, orders: list[int], result: str, at: int) -> None:
        for order in orders:
            others = [other for other in orders if other != order]
            self._attempts[order] |= {"result": result, "result_at": at, "together_with": others}


def _whole(pattern: re.Pattern[str], text: str) -> tuple[Any, ...]:
    if not (found := pattern.fullmatch(text)):
        raise ValueError(f"{text!r} has not the form of {pattern.pattern}")
    return found.groups()
