"""What a shop's folders and hands really hold: everything wrong is told on a line that says what to do, the rest is in."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from pathlib import Path

import av
import numpy as np
import pytest
from command import NOTES, Run

from kbindex.exports import terminal
from kbindex.intake import NOTE_ENDINGS, TIMED_TEXT_ENDINGS
from kbindex.store.library import DATABASE
from kbindex.store.schema import MIGRATIONS


def write_silent_video(file: Path) -> None:
    """Half a second of grey pictures, no sound."""
    with av.open(str(file), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for _ in range(5):
            picture = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 128, dtype=np.uint8), format="rgb24")
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))


def failures(done_out: str) -> dict[str, str]:
    return {one["path"]: one["error"] for one in json.loads(done_out)["failed"]}


def tell_of(run: Run, code: int, *arguments: str | Path) -> str:
    """Run a command that must fail; give its one line."""
    done = run(*arguments)
    assert done.code == code
    assert done.out == ""
    (line,) = done.said
    assert line.startswith("kbindex: ")
    return line


def test_an_empty_folder_says_what_was_looked_for(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "empty"
    folder.mkdir()
    done = run("ingest", folder)
    assert done.code == 0
    assert done.said == []
    assert "Nothing found to take in" in done.out
    assert "kbindex ingest FOLDER" in done.out
    for ending in (*NOTE_ENDINGS, *TIMED_TEXT_ENDINGS):
        assert ending in terminal._LOOKED_FOR and ending in done.out
    asked = run("ask", "won't start")
    assert asked.code == 0
    assert "Nothing like it" in asked.out


def test_a_folder_of_other_things_is_as_good_as_empty(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "other"
    folder.mkdir()
    (folder / "parts.xlsx").write_bytes(b"PK\x03\x04 not read")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8\xff\xe0 not read")
    (folder / ".hidden.txt").write_text("not looked at", encoding="utf-8")
    done = run("ingest", folder)
    assert (done.code, done.said) == (0, [])
    assert "Nothing found to take in" in done.out


def test_a_path_that_is_not_there(run: Run, tmp_path: Path) -> None:
    line = tell_of(run, 2, "ingest", tmp_path / "gone")
    assert str(tmp_path / "gone") in line
    assert "check the spelling" in line


def test_a_folder_that_may_not_be_read(run: Run, notes: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    closed = notes / "closed"
    closed.mkdir()
    listed = Path.iterdir

    def refuse(path: Path) -> object:
        if path == closed:
            raise PermissionError(13, "Permission denied", str(path))
        return listed(path)

    monkeypatch.setattr(Path, "iterdir", refuse)
    line = tell_of(run, 2, "ingest", notes)
    assert str(closed) in line
    assert "check that you may read it" in line


def test_damaged_files_are_reported_and_the_rest_is_in(run: Run, notes: Path) -> None:
    (notes / "corrupt.mp4").write_bytes(bytes(range(256)) * 64)
    write_silent_video(notes / "silent.mp4")
    (notes / "nothing.txt").write_bytes(b"")
    (notes / "no-header.csv").write_text(
        "2310,2026-03-02,dishwasher,will not start,new latch,ok\n2311,2026-03-04,dryer,no heat,new fuse,ok\n",
        encoding="utf-8",
    )
    done = run("ingest", notes, "--json")
    assert done.code == 1
    assert done.said == []
    told = failures(done.out)
    assert set(told) == {"corrupt.mp4", "silent.mp4", "nothing.txt", "no-header.csv"}
    assert "cannot be decoded" in told["corrupt.mp4"] and "copy it" in told["corrupt.mp4"]
    assert "no audio stream" in told["silent.mp4"] and "write" in told["silent.mp4"]
    assert "is empty" in told["nothing.txt"]
    assert "header" in told["no-header.csv"] and "write names over the columns" in told["no-header.csv"]
    assert json.loads(done.out)["added"] == len(NOTES)
    assert "door latch" in run("ask", "won't start, three beeps").out


PLAIN_WORDS = "Vex,Quo,Zed\nthe box by the door,it makes me sad,put it right\nthe other box,it is no use,put it right too\n"


def test_a_table_whose_columns_cannot_be_told_is_read_as_the_shop_says(run: Run, notes: Path, library: Path) -> None:
    (notes / "odd.csv").write_text(PLAIN_WORDS, encoding="utf-8")
    (told,) = failures(run("ingest", notes, "--json").out).values()
    assert "--columns" in told and "the meanings known are: number, date, machine" in told
    done = run("ingest", notes, "--json", "--columns", "vex=machine, Quo=complaint", "--columns", "Zed=work")
    assert (done.code, json.loads(done.out)["added"]) == (0, 1)
    assert '"Zed" = "work"' in (library / "settings.toml").read_text(encoding="utf-8")
    (notes / "odd2.csv").write_text(PLAIN_WORDS.replace("other", "third"), encoding="utf-8")
    again = json.loads(run("ingest", notes, "--json").out)
    assert (again["added"], again["unchanged"], again["failed"]) == (1, len(NOTES) + 1, [])


def test_columns_are_read_anew_when_the_shop_says_otherwise(run: Run, notes: Path) -> None:
    (notes / "odd.csv").write_text("no,machine,gripe,fix\n4101,washer,leaks,new hose\n", encoding="utf-8")
    assert run("ingest", notes).code == 0
    assert "Job 4101" in run("show", "4101").out
    changed = json.loads(run("ingest", notes, "--json", "--columns", "no=ignore").out)
    assert (changed["updated"], changed["unchanged"]) == (1, len(NOTES))
    assert "there is no job '4101'" in tell_of(run, 2, "show", "4101")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            "gripes=complaint",
            "no table has a column 'gripes'; the headings found are: 'no', 'machine', 'gripe'; the meanings known",
        ),
        ("gripe=moan", "--columns cannot use 'gripe=moan'; write heading=meaning; the meanings known are: number"),
        ("gripe", "--columns cannot use 'gripe'"),
    ],
)
def test_columns_that_cannot_be_used(run: Run, notes: Path, library: Path, asked: str, told: str) -> None:
    (notes / "odd.csv").write_text("no,machine,gripe\n4101,washer,leaks\n", encoding="utf-8")
    assert told in tell_of(run, 2, "ingest", notes, "--columns", asked)
    assert not library.exists(), "nothing is made before the arguments are known to be good"


def test_a_price_list_is_no_table_of_tickets(run: Run, notes: Path) -> None:
    (notes / "prices.csv").write_text("part,price\ndoor latch,$40\nthermal fuse,$9\n", encoding="utf-8")
    (told,) = failures(run("ingest", notes, "--json").out).values()
    assert "no column that tells a complaint or work (its headings: part, price)" in told


def test_each_failure_is_one_line_for_a_person(run: Run, notes: Path) -> None:
    (notes / "[b]nothing [2].txt").write_bytes(b"")
    done = run("ingest", notes)
    assert done.code == 1
    lines = [line for line in done.out.splitlines() if line.startswith("Not taken in: ")]
    assert len(lines) == 1
    assert lines[0].startswith("Not taken in: [b]nothing [2].txt: is empty; ")


def test_a_name_that_is_not_utf8(run: Run, notes: Path) -> None:
    name = os.fsdecode(b"caf\xe9.txt")
    (notes / name).write_text("Dishwasher leaks.", encoding="utf-8")
    done = run("ingest", notes, "--json")
    assert done.code == 1
    ((path, told),) = failures(done.out).items()
    assert path.startswith("caf")
    assert "rename it" in told
    assert json.loads(done.out)["added"] == len(NOTES)


def test_a_latin1_note_is_read_right(run: Run, notes: Path) -> None:
    text = "Job 2320. Dishwasher at the café leaks at the door. Replaced the door gasket. Ran a cycle, dry."
    (notes / "latin.txt").write_bytes(text.encode("latin-1"))
    assert run("ingest", notes).code == 0
    answer = json.loads(run("ask", "dishwasher leaks at the door", "--json").out)
    assert any("café" in passage["text"] for passage in answer["passages"])


def test_a_single_file_of_another_kind(run: Run, tmp_path: Path) -> None:
    (tmp_path / "parts.xlsx").write_bytes(b"PK\x03\x04 and so on")
    line = tell_of(run, 2, "ingest", tmp_path / "parts.xlsx")
    assert "neither a recording nor a note" in line
    assert ".csv" in line


def test_a_library_of_a_later_version_is_left_alone(run: Run, notes: Path, stocked: Path) -> None:
    with sqlite3.connect(stocked / DATABASE) as connection:
        # Not in WAL mode, so that a setting made too early would show in the file.
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 7}")
    connection.close()
    before = (stocked / DATABASE).read_bytes()
    for arguments in (("ask", "won't start"), ("export", "--json"), ("ingest", str(notes))):
        line = tell_of(run, 3, *arguments)
        assert "upgrade kbindex" in line and "nothing was changed" in line
    assert (stocked / DATABASE).read_bytes() == before


def test_a_library_folder_that_cannot_be_made(run: Run, notes: Path, tmp_path: Path) -> None:
    stands = tmp_path / "stands-here"
    stands.write_text("a file", encoding="utf-8")
    for folder in (stands, stands / "below"):
        line = tell_of(run, 3, "ingest", notes, "--library", folder)
        assert "--library" in line
    assert stands.read_text(encoding="utf-8") == "a file"


@pytest.mark.parametrize("damage", ["whole", "middle"])
def test_a_damaged_library(run: Run, stocked: Path, damage: str) -> None:
    data = bytearray((stocked / DATABASE).read_bytes())
    start = 0 if damage == "whole" else 8192
    data[start:] = b"\x5a" * (len(data) - start)
    (stocked / DATABASE).write_bytes(data)
    line = tell_of(run, 3, "ask", "won't start")
    assert str(stocked) in line
    assert "ingest again" in line


def test_a_damaged_or_missing_index_is_made_up_for(run: Run, notes: Path, library: Path) -> None:
    assert run("ingest", notes).code == 0
    expected = run("ask", "won't start, three beeps", "--json").out
    (index,) = library.glob("*.faiss")
    index.write_bytes(b"no index")
    assert run("ask", "won't start, three beeps", "--json").out == expected
    index.unlink()
    assert run("ask", "won't start, three beeps", "--json").out == expected
    assert run("ingest", notes).code == 0
    assert index.is_file()


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ('currancy = "EUR"\n', "currancy"),
        ("hourly_rate = -5\n", "hourly_rate"),
        ('hourly_rate = "ninety"\n', "hourly_rate"),
        ("day_first = 1\n", "day_first"),
        ("words = 3\n", "words"),
        ("currency = \n", "settings.toml"),
    ],
)
def test_settings_that_cannot_be_used(run: Run, notes: Path, library: Path, text: str, named: str) -> None:
    library.mkdir()
    (library / "settings.toml").write_text(text, encoding="utf-8")
    line = tell_of(run, 2, "ingest", notes)
    assert named in line
    assert "settings.toml" in line


def test_a_speech_model_that_is_nowhere(run: Run, notes: Path, tmp_path: Path) -> None:
    shutil.copy(write_tone(tmp_path / "tone.wav"), notes / "tone.wav")
    line = tell_of(run, 4, "ingest", notes, "--model", tmp_path / "no-model")
    assert "no-model" in line
    assert "pip install" in line or "name a folder" in line


def write_tone(file: Path) -> Path:
    import wave

    samples = (8000 * np.sin(np.arange(8000) / 5)).astype("<i2")
    with wave.open(str(file), "wb") as out:
        out.setparams((1, 2, 16000, 0, "NONE", ""))
        out.writeframes(samples.tobytes())
    return file


@pytest.mark.parametrize("arguments", [("ask", "won't start"), ("export",), ("show", "2301")])
def test_a_library_that_is_not_there(run: Run, library: Path, arguments: tuple[str, ...]) -> None:
    line = tell_of(run, 2, *arguments)
    assert str(library) in line
    assert "kbindex ingest" in line
    assert not library.exists()


@pytest.mark.parametrize("question", ["", "   ", "?!"])
def test_a_question_without_words(run: Run, stocked: Path, question: str) -> None:
    line = tell_of(run, 2, "ask", question)
    assert "say what the machine does" in line


def test_a_job_that_is_not_there(run: Run, stocked: Path) -> None:
    line = tell_of(run, 2, "show", "9999")
    assert "9999" in line and "kbindex export" in line
    assert "Job 2301" in run("show", "2301").out
    assert "Job 2301" in run("show", "job-2301").out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("ask", "won't start", "--limit", "0"), "--limit"),
        (("ask", "won't start", "--limit", "some"), "--limit"),
        (("ask",), "TEXT"),
        (("ingest",), "PATH"),
        (("ask", "won't start", "--colour"), "--colour"),
        (("listen",), "listen"),
    ],
)
def test_arguments_that_cannot_be_used(run: Run, arguments: tuple[str, ...], told: str) -> None:
    line = tell_of(run, 2, *arguments)
    assert told in line
    assert line.endswith("--help")


def test_markup_in_a_question_is_shown_as_it_is(run: Run, stocked: Path) -> None:
    for question in ("[/b] sourdough bread", "[red]sourdough :smile: bread[/red]", "sourdough bread \\"):
        done = run("ask", question)
        assert done.code == 0
        assert question in done.out
