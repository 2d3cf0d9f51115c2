"""WebVTT as the W3C writes it ("WebVTT: The Web Video Text Tracks Format", sections 4 and 6), and media fragment links.

Each case is a rule of the standard's parser; the expected words follow from the rule, not from what the program gives.
"""

from pathlib import Path

import pytest

from kbindex.engines.timed_text import read_timed_text
from kbindex.errors import DocumentError
from kbindex.records import At

CUE = "00:01.000 --> 00:02.000\nkept\n"


def words_of(folder: Path, data: str | bytes) -> list[tuple[str, float, float]]:
    file = folder / "case.vtt"
    file.write_bytes(data.encode("utf-8") if isinstance(data, str) else data)
    return [(word.text, word.start_s, word.end_s) for word in read_timed_text(file, "case.vtt").words]


@pytest.mark.parametrize(
    "start",
    ["WEBVTT\n\n", "\ufeffWEBVTT\n\n", "WEBVTT a title\n\n", "WEBVTT\ttitle\n\n", "WEBVTT \n\n", "WEBVTT\n\n\n\n", "WEBVTT\n"],
)
def test_signatures_that_are_one(tmp_path: Path, start: str) -> None:
    assert words_of(tmp_path, start + CUE) == [("kept", 1.0, 2.0)]


@pytest.mark.parametrize("start", ["webvtt\n\n", "WEBVTTx\n\n", " WEBVTT\n\n", "\nWEBVTT\n\n", "", "WEBVTT-\n\n"])
def test_signatures_that_are_none(tmp_path: Path, start: str) -> None:
    with pytest.raises(DocumentError, match="is not WebVTT"):
        words_of(tmp_path, start + CUE)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_line_ends(tmp_path: Path, line_end: str) -> None:
    text = "WEBVTT\n\nfirst\n00:01.000 --> 00:02.000\none\n\n00:03.000 --> 00:04.000\ntwo\n"
    assert words_of(tmp_path, text.replace("\n", line_end)) == [("one", 1.0, 2.0), ("two", 3.0, 4.0)]


@pytest.mark.parametrize(
    ("times", "start_s", "end_s"),
    [
        ("00:00.000 --> 00:00.001", 0.0, 0.001),
        ("59:59.999 --> 01:00:00.000", 3599.999, 3600.0),
        ("00:00:01.500 --> 00:02.500", 1.5, 2.5),
        ("100:00:00.000 --> 100:00:01.000", 360_000.0, 360_001.0),
        ("00:01.000\t-->\t00:02.000", 1.0, 2.0),
        ("  00:01.000   -->   00:02.000  ", 1.0, 2.0),
        ("00:01.000 --> 00:02.000 align:start line:0 position:10%,line-left size:50%", 1.0, 2.0),
        ("00:01.000 --> 00:02.000 nonsense:::", 1.0, 2.0),
    ],
)
def test_times_that_can_be_read(tmp_path: Path, times: str, start_s: float, end_s: float) -> None:
    assert words_of(tmp_path, f"WEBVTT\n\n{times}\nx\n") == [("x", start_s, end_s)]


@pytest.mark.parametrize(
    "times",
    [
        "00:60.000 --> 01:00.000",
        "60:00.000 --> 61:00.000",
        "00:01.00 --> 00:02.000",
        "00:01.0000 --> 00:02.000",
        "00:01 --> 00:02",
        "0:01.000 --> 0:02.000",
        "00:01,000 --> 00:02,000",
        "1 --> 2",
        "00:01.000 -> 00:02.000",
        "00:01.000 -->",
        "--> 00:02.000",
        "a00:01.000 --> 00:02.000",
        "00:01.000 --> 00:02.0001",
        "00:00:61.000 --> 00:01:02.000",
        "00:02.000 --> 00:02.000",
        "00:03.000 --> 00:02.000",
    ],
)
def test_a_cue_whose_times_cannot_be_read_is_dropped_and_the_rest_kept(tmp_path: Path, times: str) -> None:
    text = f"WEBVTT\n\n00:00.000 --> 00:00.500\nbefore\n\n{times}\nlost\n\n00:05.000 --> 00:06.000\nafter\n"
    assert [word for word, _, _ in words_of(tmp_path, text)] == ["before", "after"]


@pytest.mark.parametrize(
    "block",
    [
        "NOTE one line",
        "NOTE\nover\nlines",
        "STYLE\n::cue {\n  color: lime;\n}",
        "REGION\nid:fred\nwidth:40%",
        "an identifier alone",
        "NOTE",
    ],
)
def test_blocks_that_are_no_cues_are_skipped(tmp_path: Path, block: str) -> None:
    assert words_of(tmp_path, f"WEBVTT\n\n{block}\n\n{CUE}") == [("kept", 1.0, 2.0)]


def test_header_lines_are_skipped(tmp_path: Path) -> None:
    assert words_of(tmp_path, f"WEBVTT\nKind: captions\nLanguage: en\n\n{CUE}") == [("kept", 1.0, 2.0)]


def test_an_arrow_ends_the_cue_before_it(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:02.000\none\n00:03.000 --> 00:04.000\ntwo\n"
    assert [word for word, _, _ in words_of(tmp_path, text)] == ["one", "two"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("<v Walt>beeps</v>", "beeps"),
        ("<v.loud Walt Smith>beeps", "beeps"),
        ("<c.yellow.bg_blue>it</c> <b>b</b><i>ee</i><u>ps</u>", "it beeps"),
        ("<lang en-GB>it beeps</lang>", "it beeps"),
        ("a &amp; b", "a & b"),
        ("&lt;b&gt;", "<b>"),
        ("no&nbsp;heat", "no heat"),
        ("&lrm;no&rlm; heat", "no heat"),
        ("62&deg; &#937;", "62° Ω"),
        ("it <b", "it"),
        ("one\ntwo", "one two"),
    ],
)
def test_text_is_shown_without_tags_and_with_characters_for_references(tmp_path: Path, text: str, shown: str) -> None:
    assert " ".join(word for word, _, _ in words_of(tmp_path, f"WEBVTT\n\n00:01.000 --> 00:02.000\n{text}\n")) == shown


def test_zero_and_broken_bytes_become_replacement_characters(tmp_path: Path) -> None:
    data = b"WEBVTT\n\n00:01.000 --> 00:02.000\na\0b c\xffd\n"
    assert [word for word, _, _ in words_of(tmp_path, data)] == ["a\ufffdb", "c\ufffdd"]


def test_timestamps_in_a_cue_part_it(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:16.500 --> 00:18.500\nWhen <00:17.000>the <00:17.500>moon <00:18.000>hits\n"
    assert [start_s for _, start_s, _ in words_of(tmp_path, text)] == [16.5, 17.0, 17.5, 18.0]


@pytest.mark.parametrize(
    ("at", "link"),
    [
        (At("clip.mp4", None, 10.0, 20.0), "clip.mp4#t=10,20"),
        (At("clip.mp4", None, 0.0, 0.5), "clip.mp4#t=0,0.5"),
        (At("day one/clip.mp4", None, 12.4, 17.9), "day%20one/clip.mp4#t=12.4,17.9"),
        (At("clip.mp4", None, 4321.25, 4322.5), "clip.mp4#t=4321.25,4322.5"),
        (At("notes.csv", 3), "notes.csv"),
    ],
)
def test_links_are_media_fragments(at: At, link: str) -> None:
    """W3C Media Fragments URI 1.0, section 4.2.1: `t=` start, comma, end, in seconds (npt) with no unit."""
    assert at.link == link


def test_links_of_long_recordings_keep_their_seconds() -> None:
    """A place in the third hour is still told to the hundredth: npt knows no exponents and no rounding to six digits."""
    assert At("clip.mp4", None, 10_861.25, 10_862.75).link == "clip.mp4#t=10861.25,10862.75"
