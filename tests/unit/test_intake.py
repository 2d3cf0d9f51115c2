"""Which files are documents, what they are called, and whether they have changed."""

import os
from pathlib import Path

import pytest

from kbindex.errors import SettingsError
from kbindex.intake import NOTE_ENDINGS, Form, content_hash, find_items, fingerprint, name_apart


def no_media(file: Path) -> bool:
    return False


def make(folder: Path, *names: str) -> None:
    for name in names:
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(name.encode())


def found(*asked: Path) -> dict[str, Form]:
    return {item.path: item.form for item in find_items(asked, no_media)}


def test_each_form_by_its_ending(tmp_path: Path) -> None:
    make(tmp_path, "a.MP4", "b.m4a", "c.vtt", "d.srt", *(f"note{ending}" for ending in NOTE_ENDINGS))
    expected = {"a.MP4": Form.RECORDING, "b.m4a": Form.RECORDING, "c.vtt": Form.TIMED_TEXT, "d.srt": Form.TIMED_TEXT}
    assert found(tmp_path) == expected | {f"note{ending}": Form.NOTE for ending in NOTE_ENDINGS}


def test_unknown_endings_are_asked_for_by_content_and_known_others_are_not(tmp_path: Path) -> None:
    make(tmp_path, "clip.xyz", "clip", "photo.jpg", "list.json", "talk.txt")
    asked: list[str] = []

    def is_media(file: Path) -> bool:
        asked.append(file.name)
        return file.name == "clip.xyz"

    items = find_items([tmp_path], is_media)
    assert {item.path: item.form for item in items} == {"clip.xyz": Form.RECORDING, "talk.txt": Form.NOTE}
    assert set(asked) == {"clip.xyz", "clip"}


def test_timed_text_beside_a_recording_belongs_to_it(tmp_path: Path) -> None:
    make(tmp_path, "a.mp4", "a.srt", "b.mp4", "b.vtt", "b.srt", "sub/a.vtt", "c.vtt", "c.srt")
    items = {item.path: item for item in find_items([tmp_path], no_media)}
    assert set(items) == {"a.mp4", "b.mp4", "sub/a.vtt", "c.vtt"}
    assert items["a.mp4"].timed_text == tmp_path / "a.srt"
    assert items["b.mp4"].timed_text == tmp_path / "b.vtt"  # WebVTT before SubRip
    assert items["a.mp4"].files() == (tmp_path / "a.mp4", tmp_path / "a.srt")
    assert items["c.vtt"].files() == (tmp_path / "c.vtt",)


def test_a_single_recording_brings_its_timed_text_and_the_other_way_round(tmp_path: Path) -> None:
    make(tmp_path, "a.mp4", "a.srt", "a.txt", "b.mp4")
    for named in ("a.mp4", "a.srt"):
        (item,) = find_items([tmp_path / named], no_media)
        assert (item.path, item.form, item.timed_text) == ("a.mp4", Form.RECORDING, tmp_path / "a.srt")


def test_names_are_relative_and_each_file_comes_once_in_order(tmp_path: Path) -> None:
    make(tmp_path, "b.txt", "a.txt", "sub/deep/c.txt")
    items = find_items([tmp_path, tmp_path / "sub", tmp_path / "a.txt"], no_media)
    assert [item.path for item in items] == ["a.txt", "b.txt", "sub/deep/c.txt"]
    assert [item.path for item in find_items([tmp_path / "sub"], no_media)] == ["deep/c.txt"]


def test_hidden_and_half_open_files_are_passed_over(tmp_path: Path) -> None:
    make(tmp_path, ".trash/a.txt", ".b.txt", "~$letter.docx", "c.txt")
    assert list(found(tmp_path)) == ["c.txt"]


def test_a_linked_folder_is_not_followed(tmp_path: Path) -> None:
    make(tmp_path, "shop/a.txt")
    (tmp_path / "shop" / "again").symlink_to(tmp_path / "shop", target_is_directory=True)
    assert list(found(tmp_path / "shop")) == ["a.txt"]


def test_what_cannot_be_taken_in_is_an_error(tmp_path: Path) -> None:
    make(tmp_path, "photo.jpg")
    with pytest.raises(SettingsError, match="does not exist; check the spelling"):
        find_items([tmp_path / "gone"], no_media)
    with pytest.raises(SettingsError, match="neither a recording nor a note"):
        find_items([tmp_path / "photo.jpg"], no_media)
    assert found(tmp_path) == {}


def test_a_taken_name_is_made_longer_by_folders(tmp_path: Path) -> None:
    make(tmp_path, "one/x/a.txt", "two/x/a.txt")
    first, second = (find_items([tmp_path / name / "x"], no_media)[0] for name in ("one", "two"))
    assert name_apart(first, set()) == "a.txt"
    assert name_apart(second, {"a.txt"}) == "x/a.txt"
    assert name_apart(second, {"a.txt", "x/a.txt"}) == "two/x/a.txt"
    everything = {"/".join(second.file.parts[-count:]) for count in range(1, len(second.file.parts))}
    assert name_apart(second, everything) == second.file.as_posix()


def test_fingerprint_and_hash_cover_the_timed_text(tmp_path: Path) -> None:
    make(tmp_path, "a.mp4", "a.srt")
    (item,) = find_items([tmp_path], no_media)
    mark, sha256 = fingerprint(item), content_hash(item)
    assert mark.size == len("a.mp4") + len("a.srt")
    os.utime(tmp_path / "a.srt", ns=(mark.mtime_ns + 10**9, mark.mtime_ns + 10**9))
    assert fingerprint(item).mtime_ns == mark.mtime_ns + 10**9
    assert content_hash(item) == sha256
    (tmp_path / "a.srt").write_bytes(b"a,srt")
    assert content_hash(item) != sha256


def test_what_lies_in_which_file_counts_for_the_hash(tmp_path: Path) -> None:
    hashes = []
    for media, side in ((b"ab", b"c"), (b"a", b"bc")):
        (tmp_path / "a.mp4").write_bytes(media)
        (tmp_path / "a.srt").write_bytes(side)
        (item,) = find_items([tmp_path], no_media)
        hashes.append(content_hash(item))
    assert hashes[0] != hashes[1]
