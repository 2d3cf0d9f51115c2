"""The vector index: exact, by the store's ids, written whole, and clear about what is wrong."""

from pathlib import Path

import faiss
import numpy as np
import pytest
from numpy.typing import NDArray

from kbindex.engines.vector_index import FaissIndex
from kbindex.errors import EngineError


def unit_rows(count: int, dim: int, seed: int = 0) -> NDArray[np.float32]:
    rows = np.random.default_rng(seed).normal(size=(count, dim))
    return (rows / np.linalg.norm(rows, axis=1, keepdims=True)).astype(np.float32)


def test_the_same_as_brute_force(tmp_path: Path) -> None:
    vectors, questions = unit_rows(500, 24), unit_rows(20, 24, seed=1)
    ids = np.random.default_rng(2).permutation(10_000)[:500].astype(np.int64) + 2**40
    FaissIndex.build(ids, vectors).write(tmp_path / "v.faiss")
    index = FaissIndex.read(tmp_path / "v.faiss")
    assert (index.count, index.dim) == (500, 24)
    for question in questions:
        found, similarities = index.search(question, 10)
        products = vectors @ question
        best = np.argsort(-products)[:10]
        assert found.tolist() == ids[best].tolist()
        np.testing.assert_allclose(similarities, products[best], atol=1e-5)
        assert (found.dtype, similarities.dtype) == (np.int64, np.float32)


@pytest.mark.parametrize("limit", [3, 4, 1000])
def test_more_asked_than_held(limit: int) -> None:
    index = FaissIndex.build(np.array([7, 9, 11], dtype=np.int64), np.eye(3, dtype=np.float32))
    found, similarities = index.search(np.array([0.8, 0.6, 0.0], dtype=np.float32), limit)
    assert found.tolist() == [7, 9, 11]
    assert similarities.tolist() == pytest.approx([0.8, 0.6, 0.0])


@pytest.mark.parametrize("limit", [0, -1])
def test_nothing_asked_nothing_given(limit: int) -> None:
    index = FaissIndex.build(np.array([7], dtype=np.int64), np.ones((1, 1), dtype=np.float32))
    assert index.search(np.ones(1, dtype=np.float32), limit)[0].tolist() == []


@pytest.mark.parametrize("dim", [0, 384])
def test_an_index_of_nothing_finds_nothing(tmp_path: Path, dim: int) -> None:
    FaissIndex.build(np.zeros(0, dtype=np.int64), np.zeros((0, dim), dtype=np.float32)).write(tmp_path / "v.faiss")
    index = FaissIndex.read(tmp_path / "v.faiss")
    found, similarities = index.search(np.ones(384, dtype=np.float32), 5)
    assert (found.shape, similarities.shape, index.count) == ((0,), (0,), 0)


def test_a_vector_of_the_wrong_width_names_both() -> None:
    index = FaissIndex.build(np.arange(2, dtype=np.int64), unit_rows(2, 384))
    with pytest.raises(EngineError, match=r"\(768,\).*\(384,\).*; run kbindex ingest again"):
        index.search(np.ones(768, dtype=np.float32), 5)


@pytest.mark.parametrize(
    ("ids", "vectors"),
    [
        (np.arange(3, dtype=np.int64), np.eye(2, dtype=np.float32)),
        (np.array([1, 1], dtype=np.int64), np.eye(2, dtype=np.float32)),
        (np.arange(2, dtype=np.int64), np.ones(2, dtype=np.float32)),
    ],
)
def test_ids_and_vectors_that_do_not_fit(ids: NDArray[np.int64], vectors: NDArray[np.float32]) -> None:
    with pytest.raises(EngineError):
        FaissIndex.build(ids, vectors)


@pytest.mark.parametrize("keep", [0, 3, 40, 200, -1])
def test_a_damaged_file_is_refused(tmp_path: Path, keep: int) -> None:
    file = tmp_path / "v.faiss"
    FaissIndex.build(np.arange(50, dtype=np.int64), unit_rows(50, 8)).write(file)
    file.write_bytes(file.read_bytes()[:keep])
    with pytest.raises(EngineError, match=r"v\.faiss cannot be read .*; remove it"):
        FaissIndex.read(file)


@pytest.mark.parametrize(
    "data", [b"", b"no index", np.random.default_rng(3).bytes(5000), b"IxMp" + bytes(100), b"IxM2" + b"\xff" * 100]
)
def test_another_file_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "v.faiss").write_bytes(data)
    with pytest.raises(EngineError):
        FaissIndex.read(tmp_path / "v.faiss")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EngineError):
        FaissIndex.read(tmp_path / "none.faiss")


def test_another_kind_of_index_is_refused(tmp_path: Path) -> None:
    faiss.write_index(faiss.IndexFlatL2(4), str(tmp_path / "v.faiss"))
    with pytest.raises(EngineError, match="IndexFlatL2"):
        FaissIndex.read(tmp_path / "v.faiss")


def test_writing_replaces_whole_files_and_leaves_no_others(tmp_path: Path) -> None:
    file = tmp_path / "v.faiss"
    for count in (5, 2):
        FaissIndex.build(np.arange(count, dtype=np.int64), unit_rows(count, 8)).write(file)
    assert FaissIndex.read(file).count == 2
    assert [one.name for one in tmp_path.iterdir()] == ["v.faiss"]


def test_a_place_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    index = FaissIndex.build(np.arange(2, dtype=np.int64), unit_rows(2, 8))
    with pytest.raises(EngineError, match="cannot be written"):
        index.write(tmp_path / "file" / "v.faiss")
