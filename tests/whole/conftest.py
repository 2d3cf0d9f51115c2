"""The whole program as a shop runs it: the real command, a fresh library, the real sentence model loaded once a session."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from command import Run, run_main, run_python, write_notes

from kbindex.engines.sentence_vectors import OnnxMiniLm


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache folder of the tests' own, so that the session shows what a new machine would do."""
    folder = tmp_path_factory.mktemp("cache")
    before = os.environ.get("KBINDEX_CACHE")
    os.environ["KBINDEX_CACHE"] = str(folder)
    yield folder
    if before is None:
        del os.environ["KBINDEX_CACHE"]
    else:
        os.environ["KBINDEX_CACHE"] = before


@pytest.fixture(scope="session")
def encoder(cache: Path) -> OnnxMiniLm:
    """The real sentence encoder, loaded when first used and then kept."""
    return OnnxMiniLm()


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A library folder that is not there yet; commands use it unless told otherwise."""
    folder = tmp_path / "library"
    monkeypatch.setenv("KBINDEX_LIBRARY", str(folder))
    return folder


@pytest.fixture
def run(library: Path, encoder: OnnxMiniLm) -> Run:
    """Run the command on the test's library, with the real encoder."""
    return partial(run_main, encoder)


@pytest.fixture
def python(library: Path, cache: Path) -> Run:
    """Run Python code in a process of its own, on the test's library."""
    return run_python


@pytest.fixture
def notes(tmp_path: Path) -> Path:
    """A folder of short notes and timed text about four jobs."""
    return write_notes(tmp_path / "notes")


@pytest.fixture(scope="session")
def stock(tmp_path_factory: pytest.TempPathFactory, encoder: OnnxMiniLm) -> Path:
    """A library of these documents, made once; it is copied, never written."""
    folder = tmp_path_factory.mktemp("stock")
    done = run_main(encoder, "ingest", write_notes(folder / "notes"), "--library", folder / "library")
    assert done.code == 0, done.err
    return folder / "library"


@pytest.fixture
def stocked(stock: Path, library: Path) -> Path:
    """The test's library, with these documents in it."""
    shutil.copytree(stock, library)
    return library
