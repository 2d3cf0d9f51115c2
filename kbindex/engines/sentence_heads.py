"""The trained weights of the sentence heads (safetensors), shipped with the package."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from kbindex.errors import EngineError
from kbindex.reading.kinds import HEADS, Heads

HEADS_FILE = "sentence_heads.safetensors"


@cache
def load_heads() -> Heads:
    """Load the shipped heads.

    Raises:
        EngineError: The file is missing or damaged.
    """
    from safetensors.numpy import load

    source = files("kbindex.reading").joinpath("data", HEADS_FILE)
    try:
        tensors = load(source.read_bytes())
        weights = {name: tensors[f"{name}.weights"] for name in HEADS}
        return Heads(weights, {name: tensors[f"{name}.bias"] for name in HEADS})
    except Exception as error:
        raise EngineError(f"the sentence heads shipped with kbindex cannot be read ({error}); reinstall kbindex") from error


def save_heads(heads: Heads, file: str) -> None:
    """Write heads to a file."""
    from safetensors.numpy import save_file

    tensors = {f"{name}.weights": heads.weights[name] for name in HEADS}
    save_file(tensors | {f"{name}.bias": heads.bias[name] for name in HEADS}, file)
