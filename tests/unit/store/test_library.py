"""The library's truth: whole documents or nothing, stable ids, joined jobs, and schema versions."""

import sqlite3
from pathlib import Path

import numpy as np
import pytest

from kbindex.errors import LibraryMissing, LibraryNewer, StoreError
from kbindex.records import At, Attempt, Job, Kind, Operation, Passage, Result, Source, SourceKind, Symptom, Told, Word
from kbindex.store.library import DATABASE, Library, Manifest, NewDocument
from kbindex.store.schema import MIGRATIONS


def make_told(path: str, text: str = "the latch was worn") -> Told:
    at = At(path, None, 1.0, 3.5)
    attempt = Attempt(1, Operation.REPLACE, "door latch", Result.FIXED, at, result_at=at)
    job = Job(
        id="j-1",
        sources=(Source(path, SourceKind.RECORDING),),
        symptoms=(Symptom("beeps", ("beeps",), at, 3),),
        attempts=(attempt,),
    )
    passages = (Passage(Kind.CAUSE, text, at), Passage(Kind.ASIDE, "that is that", At(path, None, 3.5, 4.0)))
    return Told((job,), passages)


def make_document(folder: Path, name: str, **changes: object) -> NewDocument:
    told = make_told(name)
    values: dict[str, object] = {
        "path": name,
        "file": folder / name,
        "kind": SourceKind.RECORDING,
        "sha256": "00",
        "size": 10,
        "mtime_ns": 5,
        "duration_s": 4.0,
        "made_with": "test",
        "words": (Word("the", 1.0, 1.2, 0.9), Word("latch", 1.2, 1.6, None)),
        "told": told,
        "vectors": np.eye(2, 4, dtype=np.float32),
    }
    return NewDocument(**{**values, **changes})  # type: ignore[arg-type]


@pytest.fixture
def library(tmp_path: Path):
    with Library.open(tmp_path / "library", create=True) as opened:
        yield opened


def test_a_document_comes_back_as_it_was_put(library: Library, tmp_path: Path) -> None:
    document = make_document(tmp_path, "a.mp4")
    library.put_document(document)
    assert library.told_of("a.mp4") == document.told
    assert library.words_of("a.mp4") == document.words
    assert [job for _, _, job in library.told_jobs()] == list(document.told.jobs)
    ids, vectors = library.vectors()
    assert np.array_equal(vectors, document.vectors)
    stored = library.passages([int(one) for one in ids])
    assert [stored[int(one)].passage for one in ids] == list(document.told.passages)


def test_a_second_put_replaces_and_ids_are_never_used_again(library: Library, tmp_path: Path) -> None:
    library.put_document(make_document(tmp_path, "a.mp4"))
    first = set(library.vectors()[0].tolist())
    library.put_document(make_document(tmp_path, "a.mp4", told=make_told("a.mp4", "solenoid stuck")))
    second = set(library.vectors()[0].tolist())
    assert library.passage_count() == 2
    assert not first & second
    assert library.search_words('"solenoid"', 5)
    assert not library.search_words('"latch"', 5)


def test_words_are_found_by_their_stem_best_first(library: Library, tmp_path: Path) -> None:
    library.put_document(make_document(tmp_path, "a.mp4", told=make_told("a.mp4", "latches and more latches")))
    library.put_document(make_document(tmp_path, "b.mp4"))
    hits = library.search_words('"latch"', 5)
    assert len(hits) == 2
    assert hits[0][1] >= hits[1][1] > 0


def test_a_failed_write_leaves_nothing(library: Library, tmp_path: Path) -> None:
    library.put_document(make_document(tmp_path, "a.mp4"))
    version = library.passages_version()
    with pytest.raises(ValueError, match="zip"):
        library.put_document(make_document(tmp_path, "b.mp4", vectors=np.eye(1, 4, dtype=np.float32)))
    assert [state.path for state in library.files().values()] == ["a.mp4"]
    assert library.passage_count() == 2
    assert library.passages_version() == version


def test_removing_a_document_takes_everything_that_came_of_it(library: Library, tmp_path: Path) -> None:
    library.put_document(make_document(tmp_path, "a.mp4"))
    (one, number, job), *_ = library.told_jobs()
    library.replace_jobs([job], [(one, number, job.id)])
    assert library.jobs_are_current()
    library.remove_documents([one])
    assert library.passage_count() == 0
    assert library.files() == {}
    assert not library.jobs_are_current()


def test_passages_name_the_job_that_they_were_joined_into(library: Library, tmp_path: Path) -> None:
    library.put_document(make_document(tmp_path, "a.mp4"))
    (one, number, job), *_ = library.told_jobs()
    library.replace_jobs([job], [(one, number, job.id)])
    ids, _ = library.vectors()
    assert {stored.job_id for stored in library.passages(ids.tolist()).values()} == {"j-1"}


def test_the_manifest_is_switched_whole(library: Library) -> None:
    assert library.manifest() is None
    library.switch_index(Manifest("vectors-1.faiss", "m", 4, "inner product", 2, 1))
    library.switch_index(Manifest("vectors-2.faiss", "m", 4, "inner product", 3, 2))
    assert library.manifest() == Manifest("vectors-2.faiss", "m", 4, "inner product", 3, 2)


def test_a_missing_library_is_said_and_nothing_is_made(tmp_path: Path) -> None:
    with pytest.raises(LibraryMissing, match="kbindex ingest"):
        Library.open(tmp_path / "nowhere")
    assert not (tmp_path / "nowhere").exists()


def test_a_newer_library_is_refused_and_left_alone(tmp_path: Path) -> None:
    Library.open(tmp_path, create=True).close()
    connection = sqlite3.connect(tmp_path / DATABASE)
    connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    connection.commit()
    connection.close()
    with pytest.raises(LibraryNewer, match="upgrade kbindex") as caught:
        Library.open(tmp_path)
    assert (caught.value.expected, caught.value.found) == (len(MIGRATIONS), len(MIGRATIONS) + 1)
    check = sqlite3.connect(tmp_path / DATABASE)
    assert check.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS) + 1,)


def test_a_file_that_is_no_library_is_an_error_that_says_so(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_bytes(b"this is not a database at all" * 40)
    with pytest.raises(StoreError, match="library"):
        Library.open(tmp_path)
