"""Weights of heads and pointers made by hand: all of them zero, so that every head is undecided."""

from __future__ import annotations

import numpy as np

from kbindex.reading.amount_links import VALUE_SIGNS
from kbindex.reading.catalogue import CATALOGUE_DIM, PART_SIGNS, WORDS_BACK
from kbindex.reading.confidence import TRUST_SIGNS
from kbindex.reading.kinds import HEADS
from kbindex.reading.pointers import AMOUNT_SIGNS, CANDIDATE_SIGNS, POINTER_DIM, TURN_SIGNS
from kbindex.reading.signs import SIGN_COUNT, TAGS, TURNS
from kbindex.records import Operation

DIM = 4
PARTS = ("door latch", "drain pump", "heating element")
_POINTERS = (("attempt", DIM, CANDIDATE_SIGNS), ("share", 2 * DIM, AMOUNT_SIGNS), ("price", 2 * DIM, AMOUNT_SIGNS))


def zero_heads() -> dict[str, np.ndarray]:
    """Weights by name, as the package loads them; the catalogue lists `PARTS`."""
    width = DIM + SIGN_COUNT
    sizes = {name: (1 if len(classes) == 2 else len(classes), width) for name, classes in HEADS.items()}
    sizes |= {"tag": (len(TAGS), width), "opens": (1, width), "operation.component": (len(Operation), DIM)}
    for pointer, asking, signs in _POINTERS:
        sizes |= {f"point.{pointer}.query": (POINTER_DIM, asking), f"point.{pointer}.key": (POINTER_DIM, DIM)}
        sizes[f"point.{pointer}.place"] = (1, signs)
    sizes |= {"result.query": (POINTER_DIM, width), "result.key": (POINTER_DIM, width), "result.place": (1, TURN_SIGNS)}
    sizes |= {"result.nothing": (1, width), "result.class": (len(TURNS), POINTER_DIM)}
    sizes |= {
        "is_price": (1, 2 * DIM + VALUE_SIGNS),
        "catalogue.query": (CATALOGUE_DIM, DIM),
        "catalogue.signs": (1, PART_SIGNS),
        "catalogue.word": (CATALOGUE_DIM, DIM),
        "catalogue.pointed": (1, 1),
        "catalogue.unlisted": (1, DIM),
    }
    sizes["trust"] = (1, TRUST_SIGNS)
    tensors = {f"{name}.weight": np.zeros(size, dtype=np.float32) for name, size in sizes.items()}
    tensors |= {f"{name}.bias": np.zeros(size[0], dtype=np.float32) for name, size in sizes.items()}
    tensors["catalogue.near.weight"] = np.zeros((WORDS_BACK + 1, 1), dtype=np.float32)
    tensors["catalogue.key"] = np.zeros((len(PARTS), CATALOGUE_DIM), dtype=np.float32)
    tensors["catalogue.names"] = np.array(list("\n".join(PARTS).encode()), dtype=np.float32)
    return tensors
