"""The order in which to try things.

For one fault, and repairs that each surely cure their own fault, trying in falling chance/cost has the least expected cost
(Kadane & Simon 1977, Annals of Statistics 5:237-255; Heckerman, Breese & Rommelse 1995, CACM 38(3):49-57). Costs that depend
on the order, or several faults at once, break the theorem.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.questions import Fix, Step
from kbindex.records import Operation
from kbindex.settings import Settings

_PRIOR_JOBS = 0.5
"""Jobs' worth of chance given to a fix that was tried but has not cured yet (Jeffreys 1946, Beta(1/2, 1/2))."""


@dataclass(frozen=True)
class _Choice:
    component: str
    operation: Operation
    weight: float
    cost: float | None
    why: str


def order_steps(fixes: Sequence[Fix], already_tried: Sequence[str], settings: Settings) -> tuple[Step, ...]:
    """Order the fixes by chance over cost; `already_tried` components are left out and the chances made to add up to 1.

    A part that the jobs give no price for has no cost; for its place in the order its price is taken to be the dearest known.
    """
    choices = [_make_choice(fix, settings) for fix in fixes if fix.component not in already_tried and fix.tried]
    total = sum(choice.weight for choice in choices)
    if not total:
        return ()
    dearest = max((choice.cost for choice in choices if choice.cost is not None), default=settings.hourly_rate)
    ranked = sorted(choices, key=lambda c: (-c.weight / (dearest if c.cost is None else c.cost), c.component, c.operation))
    return tuple(_number_steps(ranked, total, settings.currency))


def _make_choice(fix: Fix, settings: Settings) -> _Choice:
    minutes = fix.minutes.median if fix.minutes else settings.usual_minutes
    labour = minutes * settings.hourly_rate / 60
    weight = fix.fixed + _PRIOR_JOBS / max(len(fix.jobs), 1)
    cured = f"cured {fix.fixed} of the {fix.share.of} fixed jobs, worked {fix.fixed} of {fix.tried} times tried"
    time = f"{minutes:g} min" + ("" if fix.minutes else " assumed")
    if fix.operation is not Operation.REPLACE:
        return _Choice(fix.component, fix.operation, weight, round(labour, 2), f"{cured}; {time}, no part")
    if fix.part_cost is None:
        return _Choice(fix.component, fix.operation, weight, None, f"{cured}; {time}; no price of the part in your jobs")
    price = fix.part_cost.median
    return _Choice(fix.component, fix.operation, weight, round(labour + price, 2), f"{cured}; {time}, part {price:g}")


def _number_steps(ranked: Sequence[_Choice], total: float, currency: str) -> list[Step]:
    steps = []
    for place, choice in enumerate(ranked):
        rest = ranked[place:]
        steps.append(
            Step(
                step=place + 1,
                component=choice.component,
                operation=choice.operation,
                chance=round(choice.weight / total, 4),
                cost=choice.cost,
                expected_cost_from_here=_expected_cost(rest),
                currency=currency,
                why=choice.why,
            )
        )
    return steps


def _expected_cost(choices: Sequence[_Choice]) -> float | None:
    """Expected cost of trying the choices in order until one cures; None where a cost is unknown."""
    remaining = sum(choice.weight for choice in choices)
    whole, expected = remaining, 0.0
    for choice in choices:
        if choice.cost is None:
            return None
        expected += choice.cost * remaining / whole
        remaining -= choice.weight
    return round(expected, 2)
