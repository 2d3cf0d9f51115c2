"""A document's sentences into token states that know their neighbours, with onnxruntime.

The encoder is the one of the index with its upper layers tuned for reading. Long documents go through it in windows that
overlap, so that every sentence has context on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.onnx_export import INPUTS, export_document_encoder
from kbindex.engines.weights import find_weights
from kbindex.errors import EngineError
from kbindex.reading.heads import Heads
from kbindex.reading.states import SentenceStates

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Matrix = NDArray[np.float32]

TUNED_WEIGHTS = "all-minilm-l6-v2"
"""The weights that the tuning was made for; no other encoder can take it."""
TUNING_FILE = "document_encoder.safetensors"
HEADS_FILE = "document_heads.safetensors"
_BEGIN, _END = 101, 102
"""The tokens that stand before a window and after each sentence."""
_WINDOW = 320
"""Most tokens in a window; the model knows 512 places."""
_SHARED = 120
"""About how many tokens two windows have in common."""


class OnnxDocumentEncoder:
    """Fulfils `contracts.DocumentEncoder`; loads when first used."""

    def __init__(self) -> None:
        self._session: Any = None
        self._tokenizer: Any = None

    def encode(self, texts: Sequence[str]) -> list[SentenceStates]:
        """Give the states of each sentence of one document, in order; a text beyond 478 tokens is cut.

        Raises:
            WeightsMissing: No source has the weights.
            WeightsDamaged: They are not the expected ones.
            EngineError: The model cannot be loaded or exported.
        """
        self._load()
        encodings = [self._tokenizer.encode(text, add_special_tokens=False) for text in texts]
        ids = [encoding.ids[: _WINDOW - 2] or [_END] for encoding in encodings]
        states: list[SentenceStates | None] = [None] * len(texts)
        for first, last, kept in windows([len(one) + 1 for one in ids]):
            rows = self._run([_BEGIN, *(token for one in ids[first:last] for token in (*one, _END))])
            start = 1
            for number in range(first, last):
                if number >= kept:
                    tokens = rows[start : start + len(ids[number])]
                    states[number] = SentenceStates(tokens, encodings[number].offsets[: len(tokens)])
                start += len(ids[number]) + 1
        return [one for one in states if one is not None]

    def encode_words(self, words: Sequence[str]) -> Matrix:
        """Give for each word its last token's state and the next token's, side by side: (word_count, 2 * dim) float32.

        Raises:
            WeightsMissing: No source has the weights.
            WeightsDamaged: They are not the expected ones.
            EngineError: The model cannot be loaded or exported.
        """
        import numpy as np

        self._load()
        ids = [self._tokenizer.encode(word, add_special_tokens=False).ids[:_SHARED] or [_END] for word in words]
        found: list[Matrix] = []
        for first, last, kept in windows([len(one) for one in ids]):
            rows = self._run([_BEGIN, *(token for one in ids[first:last] for token in one), _END])
            ends = np.cumsum([len(one) for one in ids[first:last]])
            del found[kept:]
            found += [np.concatenate([rows[end], rows[end + 1]]) for end in ends[kept - first :]]
        return np.array(found, dtype=np.float32)

    def _run(self, ids: Sequence[int]) -> Matrix:
        import numpy as np

        tokens = np.array([ids], dtype=np.int64)
        feed = dict(zip(INPUTS, (tokens, np.ones_like(tokens), np.zeros_like(tokens)), strict=True))
        return np.asarray(self._session.run(None, feed)[0][0], dtype=np.float32)

    def _load(self) -> None:
        if self._session is not None:
            return
        from kbindex.engines.sentence_vectors import open_session, unusable

        folder = find_weights(TUNED_WEIGHTS)
        file = export_document_encoder(folder, _shipped(TUNING_FILE))
        try:
            from tokenizers import Tokenizer

            self._tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
            self._tokenizer.no_truncation()
            self._tokenizer.no_padding()
            self._session = open_session(file)
            _leave_cores_to_the_encoder()
        except Exception as error:  # onnxruntime and tokenizers raise bare exceptions
            file.unlink(missing_ok=True)  # it can be made again
            raise unusable(folder, error) from error


def _leave_cores_to_the_encoder() -> None:
    """Keep numpy's matrix products to one thread: its idle threads spin, and the encoder between them loses a third."""
    from threadpoolctl import threadpool_limits

    threadpool_limits(limits=1, user_api="blas")


def windows(lengths: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    """Cut pieces of so many tokens into windows: (first, last, kept), `last` not included.

    The pieces from `kept` on are the window's own: those before it are there as context, and the window before has them.
    """
    first = kept = 0
    while kept < len(lengths):
        last, room = first, _WINDOW - 2
        while last < len(lengths) and (lengths[last] <= room or last == first):
            room -= lengths[last]
            last += 1
        yield first, last, kept
        if last >= len(lengths):
            return
        kept = _step_back(lengths, last, first + 1)
        first = _step_back(lengths, kept, first + 1)


def _step_back(lengths: Sequence[int], place: int, least: int) -> int:
    """The piece from which half of what windows share reaches up to `place`."""
    shared = 0
    while place > least and shared + lengths[place - 1] <= _SHARED // 2:
        place -= 1
        shared += lengths[place]
    return place


def _shipped(name: str) -> bytes:
    return files("kbindex.reading").joinpath("data", name).read_bytes()


@cache
def load_heads() -> Heads:
    """Load the shipped heads.

    Raises:
        EngineError: The file is missing or damaged.
    """
    import numpy as np
    from safetensors.numpy import load

    try:
        return Heads({name: tensor.astype(np.float32) for name, tensor in load(_shipped(HEADS_FILE)).items()})
    except Exception as error:
        raise EngineError(f"the heads shipped with kbindex cannot be read ({error}); reinstall kbindex") from error


def data_folder() -> Path:
    """Where the package keeps what `python -m eval train` makes."""
    return Path(str(files("kbindex.reading").joinpath("data")))
