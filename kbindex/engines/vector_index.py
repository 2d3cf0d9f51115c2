"""Nearest vectors with FAISS: exact inner product, ids from the store."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.atomic import whole_file
from kbindex.errors import EngineError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Vectors = NDArray[np.float32]
    Ids = NDArray[np.int64]

_KIND = "IndexIDMap2"


class FaissIndex:
    """An exact index of vectors under the store's ids. Fulfils `contracts.VectorIndex`. Never changes once built."""

    def __init__(self, index: Any) -> None:
        self._index = index

    @property
    def count(self) -> int:
        """How many vectors are held."""
        return int(self._index.ntotal)

    @property
    def dim(self) -> int:
        """The width of the vectors; 0 for an index built of none."""
        return int(self._index.d)

    @classmethod
    def build(cls, ids: Ids, vectors: Vectors) -> FaissIndex:
        """Build an index in memory of ids (count,) int64 and vectors (count, dim) float32, rows of length 1.

        Raises:
            EngineError: There is not one vector for each id, or an id comes twice.
        """
        import faiss
        import numpy as np

        if vectors.ndim != 2 or len(ids) != len(vectors):
            raise EngineError(f"{len(ids)} ids do not fit vectors of shape {vectors.shape}; give a row for each id")
        if len(np.unique(ids)) != len(ids):
            raise EngineError("an id of the vector index comes twice; give each passage once")
        index = faiss.IndexIDMap2(faiss.IndexFlatIP(int(vectors.shape[1])))
        if len(ids):
            index.add_with_ids(np.ascontiguousarray(vectors, dtype=np.float32), np.ascontiguousarray(ids, dtype=np.int64))
        return cls(index)

    def write(self, file: Path) -> None:
        """Write the index to a file, whole or not at all; replaces what is there.

        Raises:
            EngineError: The file cannot be written.
        """
        import faiss

        try:
            with whole_file(file) as unfinished:
                faiss.serialize_index(self._index).tofile(unfinished)
        except OSError as error:
            raise EngineError(
                f"the vector index cannot be written to {file} ({error.strerror or error}); make room there and run this again"
            ) from error

    @classmethod
    def read(cls, file: Path) -> FaissIndex:
        """Read an index that `write` wrote.

        Raises:
            EngineError: The file is missing, damaged, or holds another kind of index.
        """
        import faiss
        import numpy as np

        try:
            index = faiss.deserialize_index(np.fromfile(file, dtype=np.uint8))
        except Exception as error:  # faiss raises RuntimeError, or whatever its reader runs into
            raise _damaged(file, error) from error
        if type(index).__name__ != _KIND or index.metric_type != faiss.METRIC_INNER_PRODUCT:
            raise _damaged(file, f"it holds {type(index).__name__}")
        return cls(index)

    def search(self, vector: Vectors, limit: int) -> tuple[Ids, Vectors]:
        """Give ids (found,) int64 and similarities (found,) float32, best first.

        Args:
            vector: The question, (dim,) float32 of length 1.
            limit: How many to give; fewer where fewer are held, none from an empty index.

        Raises:
            EngineError: The vector is not as wide as those held.
        """
        import numpy as np

        wanted = min(limit, self.count)
        if wanted <= 0:
            return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.float32)
        if vector.shape != (self.dim,):
            raise EngineError(
                f"the question's vector has shape {vector.shape}, those of the index ({self.dim},): they come from "
                "different models; run kbindex ingest again with the sentence model that is set"
            )
        rows = np.ascontiguousarray(vector[np.newaxis], dtype=np.float32)
        similarities, ids = self._index.search(rows, wanted)
        held = ids[0] >= 0  # faiss fills up with id -1 what it does not find
        return ids[0][held], similarities[0][held]


def _damaged(file: Path, told: object) -> EngineError:
    return EngineError(f"the vector index {file} cannot be read ({told}); remove it: the next ingest builds it again")
