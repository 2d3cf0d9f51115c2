"""Sentences into vectors: with sentence-transformers for many at once, with onnxruntime for a question.

Both give the same vectors (cosine at least 0.9999). The second loads in a fraction of the time, for it needs no torch.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.onnx_export import INPUTS, export_onnx, quiet_loading
from kbindex.engines.weights import find_weights
from kbindex.errors import EngineError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MOST_TOKENS = 256
_BATCH = 64


class MiniLm:
    """A sentence encoder that runs in torch. Fulfils `contracts.SentenceEncoder`; loads when first used."""

    def __init__(self, name_or_folder: str | Path = "all-minilm-l6-v2", *, allow_hub: bool = False) -> None:
        self._asked = name_or_folder
        self._allow_hub = allow_hub
        self._model: Any = None

    @property
    def name(self) -> str:
        """What the model is called in the settings."""
        return str(self._asked)

    def encode(self, texts: Sequence[str]) -> NDArray[np.float32]:
        """Give (text_count, dim) float32, rows of length 1; text beyond 256 tokens does not count.

        Raises:
            WeightsMissing: No source has the weights.
            WeightsDamaged: They are not the expected ones.
            EngineError: The model cannot be loaded.
        """
        import numpy as np

        model = self._load()
        # With no texts one is encoded for its width alone.
        vectors = model.encode(list(texts) or [""], batch_size=_BATCH, normalize_embeddings=True, show_progress_bar=False)
        return np.asarray(vectors, dtype=np.float32)[: len(texts)]

    def _load(self) -> Any:
        if self._model is None:
            folder = find_weights(self._asked, allow_hub=self._allow_hub)
            try:
                from sentence_transformers import SentenceTransformer

                with quiet_loading():
                    self._model = SentenceTransformer(str(folder), device="cpu", local_files_only=True)
            except Exception as error:  # transformers raises whatever it meets in a folder
                raise unusable(folder, error) from error
        return self._model


class OnnxMiniLm:
    """The same encoder in onnxruntime. Fulfils `contracts.SentenceEncoder`; loads when first used.

    The first use of new weights exports them, which loads torch and takes some seconds; every later one does not.
    """

    def __init__(self, name_or_folder: str | Path = "all-minilm-l6-v2", *, allow_hub: bool = False) -> None:
        self._asked = name_or_folder
        self._allow_hub = allow_hub
        self._session: Any = None
        self._tokenizer: Any = None

    @property
    def name(self) -> str:
        """What the model is called in the settings; the same as `MiniLm`'s, for the vectors are."""
        return str(self._asked)

    def encode(self, texts: Sequence[str]) -> NDArray[np.float32]:
        """Give (text_count, dim) float32, rows of length 1; text beyond 256 tokens does not count.

        Raises:
            WeightsMissing: No source has the weights.
            WeightsDamaged: They are not the expected ones.
            EngineError: The model cannot be loaded or exported.
        """
        import numpy as np

        self._load()
        vectors = np.zeros((len(texts), self._session.get_outputs()[0].shape[1]), dtype=np.float32)
        encodings = self._tokenizer.encode_batch(list(texts))
        for places in _batches([len(encoding.ids) for encoding in encodings]):
            vectors[places] = self._run([encodings[place] for place in places])
        return vectors

    def _run(self, encodings: Sequence[Any]) -> NDArray[np.float32]:
        import numpy as np

        # Texts of a batch are filled up to its longest; token 0 is the padding, which the mask keeps out of the mean.
        tokens = np.zeros((len(encodings), max(len(encoding.ids) for encoding in encodings)), dtype=np.int64)
        mask = np.zeros_like(tokens)
        for row, encoding in enumerate(encodings):
            tokens[row, : len(encoding.ids)] = encoding.ids
            mask[row, : len(encoding.ids)] = 1
        feed = dict(zip(INPUTS, (tokens, mask, np.zeros_like(tokens)), strict=True))
        return np.asarray(self._session.run(None, feed)[0], dtype=np.float32)

    def _load(self) -> None:
        if self._session is not None:
            return
        folder = find_weights(self._asked, allow_hub=self._allow_hub)
        file = export_onnx(folder)
        try:
            self._tokenizer = _load_tokenizer(folder)
            self._session = open_session(file)
        except Exception as error:  # onnxruntime and tokenizers raise bare exceptions
            file.unlink(missing_ok=True)  # it can be made again
            raise unusable(folder, error) from error


def _load_tokenizer(folder: Path) -> Any:
    from tokenizers import Tokenizer

    tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
    try:
        given = json.loads((folder / "sentence_bert_config.json").read_text(encoding="utf-8")).get("max_seq_length")
    except (OSError, ValueError):
        given = None
    tokenizer.enable_truncation(max_length=given or _MOST_TOKENS)
    tokenizer.no_padding()
    return tokenizer


def open_session(file: Path) -> Any:
    """Open an ONNX file for inference on the CPU."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(str(file), options, providers=["CPUExecutionProvider"])


def _batches(lengths: Sequence[int]) -> Iterator[list[int]]:
    """Places of texts of about the same length together, so that little is filled up."""
    order = sorted(range(len(lengths)), key=lambda place: lengths[place])
    for start in range(0, len(order), _BATCH):
        yield order[start : start + _BATCH]


def unusable(folder: Path, error: Exception) -> EngineError:
    """The error for weights that do not load."""
    return EngineError(f"the sentence encoder in {folder} cannot be used ({error}); run this again, or use all-minilm-l6-v2")
