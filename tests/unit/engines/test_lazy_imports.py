"""Importing the engines loads none of the libraries behind them."""

import pkgutil
import subprocess
import sys

import pytest

import kbindex.engines

MODULES = sorted(f"kbindex.engines.{one.name}" for one in pkgutil.iter_modules(kbindex.engines.__path__))
HEAVY = (
    "av", "ctranslate2", "docx", "faiss", "faster_whisper", "huggingface_hub", "numpy", "onnxruntime", "platformdirs",
    "pypdf", "scipy", "sentence_transformers", "tokenizers", "torch", "transformers",
)  # fmt: skip
MAY_LOAD = {"kbindex.engines.document_encoder": {"numpy"}}


@pytest.mark.parametrize("module", MODULES)
def test_a_module_loads_nothing_heavy(module: str) -> None:
    code = f"import sys, {module}; print(*sorted(set({HEAVY!r}) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(done.stdout.split()) <= MAY_LOAD.get(module, set())
    assert done.stderr == ""
