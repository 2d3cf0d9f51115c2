"""Plain drawings of machine fronts, as shapes in a box that is 1 wide and 1 high."""

from __future__ import annotations

from dataclasses import dataclass

Shape = tuple[str, float, float, float, float, str]
"""Form (`box`, `oval` or `line`), left, top, right, bottom, and the name of a shade."""


@dataclass(frozen=True)
class Front:
    """A machine's front.

    Attributes:
        ratio: Width of the machine divided by its height.
        shapes: What is drawn on the body, back to front.
        lamps: Left end, height and right end of the row of lamps.
    """

    ratio: float
    shapes: tuple[Shape, ...]
    lamps: tuple[float, float, float]


_PANEL: Shape = ("box", 0.0, 0.0, 1.0, 0.13, "panel")
_FEET: Shape = ("box", 0.04, 0.95, 0.96, 1.0, "dark")
_TOP_ROW = (0.4, 0.065, 0.9)


def _drum(window: str) -> tuple[Shape, ...]:
    """Front with a round door."""
    return (
        _PANEL, ("box", 0.06, 0.03, 0.3, 0.1, "edge"), ("oval", 0.16, 0.26, 0.84, 0.86, "edge"),
        ("oval", 0.22, 0.31, 0.78, 0.81, window), ("box", 0.8, 0.53, 0.87, 0.6, "dark"), _FEET,
    )  # fmt: skip


def _tall(split: float) -> tuple[Shape, ...]:
    """Tall cabinet with two doors, one above the other."""
    return (
        ("line", 0.0, split, 1.0, split, "dark"), ("box", 0.06, split * 0.3, 0.11, split - 0.03, "edge"),
        ("box", 0.06, split + 0.04, 0.11, 0.8, "edge"), _FEET,
    )  # fmt: skip


_BURNERS: tuple[Shape, ...] = tuple(("oval", x, y, x + 0.3, y + 0.13, "dark") for x in (0.12, 0.58) for y in (0.02, 0.17))
_DOOR: tuple[Shape, ...] = (
    ("box", 0.06, 0.48, 0.94, 0.9, "edge"), ("box", 0.16, 0.56, 0.84, 0.84, "glass"),
    ("box", 0.12, 0.495, 0.88, 0.525, "dark"),
)  # fmt: skip
_SLATS: tuple[Shape, ...] = tuple(("line", 0.08, y / 20, 0.92, y / 20, "edge") for y in range(6, 18))

FRONTS: dict[str, Front] = {
    "dishwasher": Front(0.8, (_PANEL, ("box", 0.28, 0.16, 0.72, 0.2, "dark"), ("box", 0.03, 0.86, 0.97, 0.87, "edge"),
                              ("box", 0.04, 0.88, 0.96, 1.0, "dark")), _TOP_ROW),
    "washer": Front(0.8, _drum("glass"), _TOP_ROW),
    "dryer": Front(0.8, _drum("dark"), _TOP_ROW),
    "refrigerator": Front(0.5, (*_tall(0.34), ("box", 0.55, 0.42, 0.85, 0.58, "panel")), (0.58, 0.445, 0.82)),
    "freezer": Front(0.55, (*_tall(0.12), ("box", 0.5, 0.03, 0.92, 0.09, "panel")), (0.55, 0.06, 0.87)),
    "range": Front(0.75, (*_BURNERS, ("box", 0.0, 0.34, 1.0, 0.45, "panel"), *_DOOR, _FEET), (0.3, 0.395, 0.7)),
    "oven": Front(0.95, (("box", 0.0, 0.0, 1.0, 0.3, "panel"), ("box", 0.38, 0.07, 0.62, 0.22, "glass"), *_DOOR),
                  (0.7, 0.15, 0.94)),
    "cooktop": Front(1.6, (("box", 0.03, 0.04, 0.97, 0.8, "glass"), ("oval", 0.1, 0.1, 0.34, 0.42, "edge"),
                           ("oval", 0.1, 0.46, 0.28, 0.74, "edge"), ("oval", 0.64, 0.1, 0.84, 0.4, "edge"),
                           ("oval", 0.62, 0.46, 0.88, 0.76, "edge")), (0.3, 0.9, 0.7)),
    "microwave": Front(1.7, (("box", 0.04, 0.08, 0.7, 0.92, "edge"), ("box", 0.1, 0.18, 0.6, 0.82, "glass"),
                             ("box", 0.64, 0.14, 0.67, 0.86, "dark"), ("box", 0.74, 0.06, 0.97, 0.94, "panel")),
                       (0.78, 0.16, 0.93)),
    "range hood": Front(2.2, (("box", 0.32, 0.0, 0.68, 0.45, "edge"), ("box", 0.0, 0.62, 1.0, 0.86, "panel"),
                              ("box", 0.06, 0.88, 0.94, 1.0, "dark")), (0.35, 0.74, 0.65)),
    "disposer": Front(0.6, (("box", 0.3, 0.0, 0.7, 0.12, "dark"), ("oval", 0.05, 0.08, 0.95, 0.4, "edge"),
                            ("box", 0.78, 0.3, 1.0, 0.4, "dark"), ("oval", 0.35, 0.82, 0.65, 0.96, "dark")),
                      (0.3, 0.62, 0.7)),
    "ice maker": Front(0.7, (_PANEL, *_SLATS[8:], ("box", 0.08, 0.18, 0.92, 0.62, "edge"), _FEET), _TOP_ROW),
    "room air conditioner": Front(1.5, (*_SLATS, ("box", 0.62, 0.04, 0.97, 0.24, "panel")), (0.66, 0.14, 0.93)),
    "dehumidifier": Front(0.65, (_PANEL, *_SLATS[:7], ("box", 0.1, 0.65, 0.9, 0.92, "edge"), _FEET), _TOP_ROW),
    "water heater": Front(0.5, (("oval", 0.0, -0.05, 1.0, 0.08, "edge"), ("box", 0.3, 0.66, 0.7, 0.84, "panel"),
                                ("box", 0.12, 0.12, 0.88, 0.14, "edge"), _FEET), (0.4, 0.75, 0.6)),
    "coffee machine": Front(0.9, (_PANEL, ("box", 0.38, 0.22, 0.62, 0.36, "dark"), ("box", 0.3, 0.36, 0.7, 0.4, "edge"),
                                  ("box", 0.4, 0.62, 0.6, 0.84, "glass"), ("box", 0.08, 0.86, 0.92, 1.0, "dark")),
                            _TOP_ROW),
    "vacuum": Front(0.45, (("box", 0.42, 0.0, 0.58, 0.3, "dark"), ("box", 0.2, 0.26, 0.8, 0.7, "glass"),
                           ("box", 0.0, 0.84, 1.0, 1.0, "dark")), (0.3, 0.77, 0.7)),
    "trash compactor": Front(0.5, (_PANEL, ("box", 0.1, 0.2, 0.9, 0.24, "dark"),
                                   ("box", 0.15, 0.9, 0.85, 0.96, "dark")), _TOP_ROW),
    "wine cooler": Front(0.55, (_PANEL, ("box", 0.1, 0.17, 0.9, 0.92, "glass"),
                                *(("line", 0.14, y / 10, 0.86, y / 10, "edge") for y in range(3, 9)), _FEET), _TOP_ROW),
}  # fmt: skip


def front_of(machine: str) -> Front:
    """The drawing of a machine; an unknown one gets a cabinet with a panel and a door."""
    plain = Front(0.8, (_PANEL, ("box", 0.08, 0.2, 0.92, 0.9, "edge"), _FEET), _TOP_ROW)
    return FRONTS.get(machine, plain)
