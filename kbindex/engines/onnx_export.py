"""Encoders as ONNX files, made once from their weights, so that neither a question nor reading need load torch.

Two graphs come from the same weights: the sentence encoder (texts into vectors for the index), and the document encoder,
whose upper layers the package tunes for reading (`reading/data/document_encoder.safetensors`).
"""

from __future__ import annotations

import hashlib
import io
import json
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.atomic import whole_file
from kbindex.engines.weights import cache_folder, file_sha256
from kbindex.errors import EngineError

if TYPE_CHECKING:
    import torch

WEIGHTS_FILE = "model.safetensors"
_EXPORT_VERSION = 1
"""Grows when the exported graph changes: older files are then made again."""
_OPSET = 17
INPUTS = ("input_ids", "attention_mask", "token_type_ids")


def onnx_file(weights_folder: Path) -> Path:
    """Where the sentence encoder of these weights belongs, whether or not it was made; its name follows their SHA-256.

    Raises:
        WeightsMissing: The folder holds no weights.
    """
    sha256 = file_sha256(weights_folder / WEIGHTS_FILE)
    return cache_folder() / "onnx" / f"sentence-encoder-{sha256[:16]}-{_EXPORT_VERSION}.onnx"


def export_onnx(weights_folder: Path) -> Path:
    """Make the ONNX file of a sentence encoder if it is not there yet. Loads torch to make it; writes it whole.

    The graph takes token ids (batch, tokens) int64 and gives (batch, dim) float32, rows of length 1: BERT, the mean
    over the tokens that are no padding (Reimers & Gurevych 2019, Sentence-BERT), divided by its length.

    Raises:
        WeightsMissing: The folder holds no weights.
        EngineError: The model pools in another way, cannot be exported, or the cache folder cannot be written.
    """
    target = onnx_file(weights_folder)
    if not target.is_file():
        _check_pooling(weights_folder)
        _make(target, weights_folder, lambda: _wrap(_load_bert(weights_folder), pooled=True), "vectors")
    return target


def export_document_encoder(weights_folder: Path, tuning: bytes) -> Path:
    """Make the ONNX file of the document encoder if it is not there yet. Loads torch to make it; writes it whole.

    The graph takes token ids (batch, tokens) int64 and gives the last layer's states, (batch, tokens, dim) float32.
    `tuning` is a safetensors file of what is added to the weights: `NAME.up` @ `NAME.down` to a matrix, `NAME.add` to a
    vector.

    Raises:
        WeightsMissing: The folder holds no weights.
        EngineError: The tuning does not fit them, the model cannot be exported, or the cache folder cannot be written.
    """
    sha256 = file_sha256(weights_folder / WEIGHTS_FILE)
    tuned = hashlib.sha256(tuning).hexdigest()
    target = cache_folder() / "onnx" / f"document-encoder-{sha256[:16]}-{tuned[:16]}-{_EXPORT_VERSION}.onnx"
    if not target.is_file():
        _make(target, weights_folder, lambda: _wrap(_tune(_load_bert(weights_folder), tuning), pooled=False), "states")
    return target


def _make(target: Path, weights_folder: Path, load: Callable[[], torch.nn.Module], output: str) -> None:
    try:
        exported = _export(load(), output)
    except Exception as error:  # torch and transformers raise many kinds
        raise EngineError(
            f"the sentence encoder in {weights_folder} cannot be exported ({error}); use all-minilm-l6-v2"
        ) from error
    try:
        with whole_file(target) as unfinished:
            unfinished.write_bytes(exported)
    except OSError as error:
        raise EngineError(
            f"the sentence encoder cannot be written to {target} ({error.strerror or error}); "
            "make room there, or name another folder in the environment variable KBINDEX_CACHE"
        ) from error


def _check_pooling(weights_folder: Path) -> None:
    try:
        pooling = json.loads((weights_folder / "1_Pooling" / "config.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return  # a bare folder of weights: mean pooling is what such models are trained with
    if not pooling.get("pooling_mode_mean_tokens", pooling.get("pooling_mode") == "mean"):
        raise EngineError(f"the model in {weights_folder} does not take the mean of its tokens; use all-minilm-l6-v2")


def _load_bert(weights_folder: Path) -> Any:
    from transformers import AutoModel

    with quiet_loading():
        return AutoModel.from_pretrained(str(weights_folder), attn_implementation="eager", local_files_only=True).eval()


def _tune(bert: Any, tuning: bytes) -> Any:
    import torch
    from safetensors.torch import load

    changes = load(tuning)
    weights = dict(bert.named_parameters())
    with torch.no_grad():
        for name, change in changes.items():
            if name.endswith(".up"):
                down = changes[name.removesuffix(".up") + ".down"]
                weights[name.removesuffix(".up")] += change.float() @ down.float()
            elif name.endswith(".add"):
                weights[name.removesuffix(".add")] += change.float()
    return bert


def _export(module: torch.nn.Module, output: str) -> bytes:
    import torch

    example = torch.tensor([[101, 2009, 2003, 102], [101, 2009, 102, 0]])
    mask = torch.tensor([[1, 1, 1, 1], [1, 1, 1, 0]])
    out = io.BytesIO()
    with torch.no_grad(), warnings.catch_warnings(), _without_onnx_package():
        warnings.simplefilter("ignore")  # the tracer warns of branches on shapes that the graph leaves out
        torch.onnx.export(
            module,
            (example, mask, torch.zeros_like(example)),
            out,
            input_names=list(INPUTS),
            output_names=[output],
            dynamic_axes={name: {0: "batch", 1: "tokens"} for name in INPUTS} | {output: {0: "batch"}},
            opset_version=_OPSET,
            dynamo=False,  # the tracing exporter needs no further package
        )
    return out.getvalue()


@contextmanager
def quiet_loading() -> Iterator[None]:
    """Keep the loading bars of transformers off the terminal: only the doors print."""
    from transformers.utils import logging

    shown = logging.is_progress_bar_enabled()
    logging.disable_progress_bar()
    try:
        yield
    finally:
        if shown:
            logging.enable_progress_bar()


@contextmanager
def _without_onnx_package() -> Iterator[None]:
    """Let the exporter do without the `onnx` package.

    It asks for it in its last step, which adds functions of operators that a program defines for itself. This graph has
    none, so that the step would give back what it was given.
    """
    from torch.onnx._internal.torchscript_exporter import onnx_proto_utils as exporter

    step = exporter._add_onnxscript_fn
    exporter._add_onnxscript_fn = lambda model_bytes, custom_opsets: model_bytes
    try:
        yield
    finally:
        exporter._add_onnxscript_fn = step


def _wrap(bert: Any, *, pooled: bool) -> torch.nn.Module:
    """The model with its last states as output, or their mean. The class stands in here so that torch is loaded when needed."""
    import torch

    class Encoder(torch.nn.Module):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            self.bert = bert

        def forward(self, input_ids: Any, attention_mask: Any, token_type_ids: Any) -> Any:
            states = self.bert(
                input_ids=input_ids, attention_mask=attention_mask, token_type_ids=token_type_ids
            ).last_hidden_state
            if not pooled:
                return states
            mask = attention_mask.unsqueeze(-1).to(torch.float32)
            mean = (states * mask).sum(1) / mask.sum(1).clamp(min=1e-9)
            return torch.nn.functional.normalize(mean, p=2.0, dim=1)

    return Encoder()
