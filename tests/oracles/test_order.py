"""The order of steps against exhaustive search, and on a worked example."""

import random
from itertools import permutations

import pytest

from kbindex.evidence.order import order_steps
from kbindex.evidence.rates import spread_of, wilson_rate
from kbindex.questions import Fix, Step
from kbindex.records import Operation
from kbindex.settings import Settings

HOURLY = Settings(hourly_rate=60.0)


def make_fix(component: str, fixed: int, of: int, price: float | None, minutes: float) -> Fix:
    return Fix(
        component=component,
        operation=Operation.REPLACE,
        fixed=fixed,
        tried=of,
        untested=0,
        share=wilson_rate(fixed, of),
        when_tried=wilson_rate(fixed, of),
        stated=(),
        part_cost=spread_of([price] if price is not None else [], "USD"),
        minutes=spread_of([minutes]),
        clips=(),
        jobs=tuple(f"{component}-{n}" for n in range(of)),
    )


def expected_cost(steps: list[Step]) -> float:
    """Written out apart from the program: each step is paid for when no earlier one cured."""
    total, not_yet = 0.0, 1.0
    for step in steps:
        assert step.cost is not None
        total += not_yet * step.cost
        not_yet -= step.chance
    return total


def test_latch_before_board() -> None:
    """Common practice, no source: a latch cures 80 % at $20, a board 20 % at $80; so 20 + 0.2 * 80 against 80 + 0.8 * 20."""
    # no labour: an hourly rate of next to nothing
    settings = Settings(hourly_rate=1e-9)
    fixes = [make_fix("control board", 200, 1000, 80, 1), make_fix("door latch", 800, 1000, 20, 1)]
    steps = order_steps(fixes, (), settings)
    assert [step.component for step in steps] == ["door latch", "control board"]
    assert steps[0].expected_cost_from_here == pytest.approx(20 + 0.2 * 80, abs=0.01)
    assert expected_cost(list(reversed(steps))) == pytest.approx(80 + 0.8 * 20, abs=0.1)


def test_no_permutation_is_cheaper() -> None:
    """Kadane & Simon 1977: falling chance/cost has the least expected cost; here over all orders of 500 random cases."""
    draw = random.Random(11)
    for _ in range(500):
        count = draw.randint(1, 5)
        fixes = [make_fix(f"part {n}", draw.randint(0, 9), 10, draw.randint(1, 200), draw.randint(5, 90)) for n in range(count)]
        steps = list(order_steps(fixes, (), HOURLY))
        best = min(expected_cost(list(order)) for order in permutations(steps))
        assert expected_cost(steps) == pytest.approx(best, rel=1e-3)
        assert steps[0].expected_cost_from_here == pytest.approx(expected_cost(steps), rel=1e-3, abs=0.02)
        assert sum(step.chance for step in steps) == pytest.approx(1.0, abs=1e-3)


def test_tried_parts_leave_the_order_and_chances_are_made_whole() -> None:
    fixes = [
        make_fix("door latch", 6, 10, 20, 20),
        make_fix("control board", 3, 4, 80, 30),
        make_fix("door switch", 1, 2, 10, 15),
    ]
    steps = order_steps(fixes, ("door latch",), HOURLY)
    assert "door latch" not in [step.component for step in steps]
    assert sum(step.chance for step in steps) == pytest.approx(1.0, abs=1e-3)


def test_an_unknown_price_is_said_and_not_invented() -> None:
    steps = order_steps([make_fix("control board", 3, 4, None, 30)], (), HOURLY)
    assert steps[0].cost is None
    assert steps[0].expected_cost_from_here is None
    assert "no price" in steps[0].why
