"""Timed text into words: where each word starts, rolling captions, and what is not speech."""

from pathlib import Path

import pysrt
import pytest
import webvtt
from hypothesis import given, settings
from hypothesis import strategies as st

from kbindex.engines.timed_text import read_timed_text, write_vtt
from kbindex.errors import DocumentError
from kbindex.records import Recording

ROLLING_WITH_STAMPS = """WEBVTT
Kind: captions
Language: en

00:00:00.000 --> 00:00:02.500 align:start position:0%
\u0020
so<00:00:00.500><c> today</c><00:00:01.000><c> the</c><00:00:01.400><c> washer</c>

00:00:02.500 --> 00:00:02.510 align:start position:0%
so today the washer
\u0020

00:00:02.510 --> 00:00:05.000 align:start position:0%
so today the washer
will<00:00:03.000><c> not</c><00:00:03.300><c> drain</c>

00:00:05.000 --> 00:00:05.010 align:start position:0%
will not drain
\u0020

00:00:05.010 --> 00:00:07.000 align:start position:0%
will not drain
and<00:00:06.000><c> it</c><00:00:06.200><c> hums</c>
"""


def read(folder: Path, text: str, name: str = "clip.vtt") -> Recording:
    file = folder / name
    file.write_bytes(text.encode("utf-8"))
    return read_timed_text(file, name)


def said(recording: Recording) -> str:
    return " ".join(word.text for word in recording.words)


def test_a_cue_is_shared_out_by_letters(tmp_path: Path) -> None:
    recording = read(tmp_path, "WEBVTT\n\n00:10.000 --> 00:12.000\nthe latch\n")
    assert recording.path == "clip.vtt"
    assert recording.duration_s == 12.0
    # 3 of 8 letters, then 5 of 8, over two seconds
    assert [(word.text, word.start_s, word.end_s) for word in recording.words] == [
        ("the", 10.0, 10.75),
        ("latch", 10.75, 12.0),
    ]
    assert all(word.probability is None for word in recording.words)


def test_timestamps_inside_a_cue_say_when_words_start(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:05.000 --> 00:09.000\nthe <00:05.500>latch <00:08.000><c>is bad</c>\n"
    words = read(tmp_path, text).words
    assert [(word.text, word.start_s) for word in words] == [
        ("the", 5.0),
        ("latch", 5.5),
        ("is", 8.0),
        ("bad", pytest.approx(8.4)),
    ]
    # The silence before "is" is left visible: a five-letter word does not last two and a half seconds.
    assert words[1].end_s < 6.5


@pytest.mark.parametrize("stamp", ["00:04.000", "00:05.000x", "00:99.000", "00:20.000"])
def test_timestamps_outside_the_cue_are_passed_over(tmp_path: Path, stamp: str) -> None:
    words = read(tmp_path, f"WEBVTT\n\n00:05.000 --> 00:07.000\nab <{stamp}>cd\n").words
    assert [(word.text, word.start_s, word.end_s) for word in words] == [("ab", 5.0, 6.0), ("cd", 6.0, 7.0)]


def test_a_timestamp_inside_a_word_does_not_cut_it(tmp_path: Path) -> None:
    words = read(tmp_path, "WEBVTT\n\n00:00.000 --> 00:02.000\ndish<00:01.000>washer runs\n").words
    assert [word.text for word in words] == ["dishwasher", "runs"]


def test_rolling_captions_with_stamps_give_each_word_once(tmp_path: Path) -> None:
    recording = read(tmp_path, ROLLING_WITH_STAMPS)
    assert said(recording) == "so today the washer will not drain and it hums"
    starts = {word.text: word.start_s for word in recording.words}
    assert starts["washer"] == 1.4
    assert starts["drain"] == 3.3
    assert starts["hums"] == 6.2


@pytest.mark.parametrize("arrow_line", ["{0} --> {1}", "{0} --> {1} align:start position:0%"])
def test_rolling_captions_of_two_and_three_lines(tmp_path: Path, arrow_line: str) -> None:
    lines = ["so the dryer is cold", "it turns but no heat", "I tested the fuse", "and it is open", "new fuse and it heats"]
    for depth in (2, 3):
        blocks = ["WEBVTT"]
        for number in range(len(lines)):
            shown = lines[max(0, number - depth + 1) : number + 1]
            times = arrow_line.format(f"00:{number * 2:02d}.000", f"00:{number * 2 + 2:02d}.000")
            blocks.append("\n".join([times, *shown]))
        recording = read(tmp_path, "\n\n".join(blocks))
        assert said(recording) == " ".join(lines)
        assert next(word.start_s for word in recording.words if word.text == "tested") >= 4.0


def test_rolling_captions_that_grow_word_by_word(tmp_path: Path) -> None:
    words = ["the", "control", "board", "was", "dead", "and", "I", "put", "a", "new", "one", "in"]
    blocks = ["WEBVTT"] + [f"00:{at:02d}.000 --> 00:{at + 1:02d}.000\n{' '.join(words[: at + 1])}" for at in range(len(words))]
    recording = read(tmp_path, "\n\n".join(blocks))
    assert [(word.text, word.start_s) for word in recording.words] == [(word, float(at)) for at, word in enumerate(words)]


def test_rolling_captions_in_subrip(tmp_path: Path) -> None:
    text = (
        "1\n00:00:00,000 --> 00:00:02,000\nso the dryer is cold\n\n"
        "2\n00:00:02,000 --> 00:00:04,000\nso the dryer is cold\nit turns but no heat\n\n"
        "3\n00:00:04,000 --> 00:00:06,000\nit turns but no heat\nI tested the fuse\n"
    )
    assert said(read(tmp_path, text, "clip.srt")) == "so the dryer is cold it turns but no heat I tested the fuse"


def test_what_is_said_twice_stays_twice(tmp_path: Path) -> None:
    cues = [(0.0, 1.0, "No."), (1.0, 2.0, "No."), (2.0, 3.0, "It beeps."), (3.0, 4.0, "It beeps.")]
    assert said(read(tmp_path, write_vtt(cues))) == "No. No. It beeps. It beeps."


def test_one_repeated_line_does_not_make_captions_roll(tmp_path: Path) -> None:
    cues = [(0, 2, "It beeps."), (2, 4, "It beeps.\nThree times."), (4, 6, "Then nothing."), (6, 8, "Dead."), (8, 9, "So.")]
    assert said(read(tmp_path, write_vtt(cues))) == "It beeps. It beeps. Three times. Then nothing. Dead. So."


def test_sounds_music_and_speakers_are_left_out(tmp_path: Path) -> None:
    text = (
        "WEBVTT\n\n00:00.000 --> 00:02.000\n[Music]\n\n00:02.000 --> 00:04.000\n(beeping)\n\n"
        "00:04.000 --> 00:06.000\n♪ la la la ♪\n\n"
        "00:06.000 --> 00:08.000\n<v Walt>(machine humming) It hums [sighs] again.</v>\n\n"
        "00:08.000 --> 00:09.000\n- &gt;&gt; ♪ Right.\n"
    )
    assert said(read(tmp_path, text)) == "It hums again. Right."


def test_round_brackets_inside_a_sentence_are_speech(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:00.000 --> 00:02.000\nthe left valve (not the right one) sticks\n"
    assert said(read(tmp_path, text)) == "the left valve (not the right one) sticks"


def test_only_music_is_a_recording_without_words(tmp_path: Path) -> None:
    recording = read(tmp_path, "WEBVTT\n\n00:00.000 --> 00:30.000\n[Music]\n")
    assert recording.words == ()
    assert recording.duration_s == 30.0


def test_subrip_tags_and_positions_are_removed(tmp_path: Path) -> None:
    text = (
        "\ufeff1\r\n00:00:01,000 --> 00:00:02,500 X1:10 X2:20\r\n"
        '{\\an8}<i>It</i> <font color="#ffff00">beeps</font>\r\n{i}twice{/i}.\r\n\r\n'
        "2\r\n00:00:03.5 --> 00:00:04,000\r\n12 < 15 ohms & rising\r\n"
    )
    recording = read(tmp_path, text, "clip.srt")
    assert said(recording) == "It beeps twice. 12 < 15 ohms & rising"
    assert recording.words[3].start_s == 3.5


def test_subrip_keeps_what_follows_a_blank_line_in_a_cue(tmp_path: Path) -> None:
    text = "1\n00:00:01,000 --> 00:00:02,000\nfirst\n\nsecond\n\n2\n00:00:03,000 --> 00:00:04,000\nthird\n"
    assert said(read(tmp_path, text, "clip.srt")) == "first second third"


def test_subrip_drops_a_cue_whose_times_cannot_be_read(tmp_path: Path) -> None:
    text = "1\n00:00:0x,000 --> 00:00:02,000\nlost\n\n2\n00:00:03,000 --> 00:00:04,000\nkept\n"
    assert said(read(tmp_path, text, "clip.srt")) == "kept"


def test_subrip_in_the_old_western_code_page(tmp_path: Path) -> None:
    file = tmp_path / "clip.srt"
    file.write_bytes("1\n00:00:01,000 --> 00:00:02,000\n62 ° café\n".encode("cp1252"))
    assert said(read_timed_text(file, "clip.srt")) == "62 ° café"


def test_webvtt_named_srt_is_read_as_what_it_is(tmp_path: Path) -> None:
    assert said(read(tmp_path, "WEBVTT\n\n00:01.000 --> 00:02.000\nhello &amp; bye\n", "clip.srt")) == "hello & bye"


@pytest.mark.parametrize(
    ("name", "text", "problem"),
    [
        ("a.vtt", "", "is empty"),
        ("a.srt", " \n\n", "is empty"),
        ("a.vtt", "WEBVTT\n\n", "no cue"),
        ("a.vtt", "WEBVTT\n\n00:02.000 --> 00:01.000\nbackwards\n", "no cue"),
        ("a.vtt", "1\n00:00:01,000 --> 00:00:02,000\nhi\n", "is not WebVTT"),
        ("a.srt", "just some words\n", "no cue"),
    ],
)
def test_what_cannot_be_read_says_so_and_what_to_do(tmp_path: Path, name: str, text: str, problem: str) -> None:
    with pytest.raises(DocumentError, match=problem) as caught:
        read(tmp_path, text, name)
    assert ";" in str(caught.value)


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="cannot be opened"):
        read_timed_text(tmp_path / "none.vtt", "none.vtt")


def test_overlapping_cues_give_words_in_order(tmp_path: Path) -> None:
    text = (
        "WEBVTT\n\n00:00.000 --> 00:04.000\nHold the door shut\n\n00:01.000 --> 00:03.000\nwhile I press start\n\n"
        "00:01.000 --> 00:02.000\nokay\n"
    )
    words = read(tmp_path, text).words
    assert len(words) == 9
    assert all(earlier.end_s <= later.start_s for earlier, later in zip(words, words[1:], strict=False))


def test_cues_that_begin_together_share_their_time(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:00.000 --> 00:03.000\nabc\n\n00:00.000 --> 00:06.000\nabc\n"
    words = read(tmp_path, text).words
    assert [(word.start_s, word.end_s) for word in words] == [(0.0, 3.0), (3.0, 6.0)]


def test_many_cues_are_read_in_a_moment(tmp_path: Path) -> None:
    cues = [(float(at), at + 1.0, f"word{at} again") for at in range(20_000)]
    assert len(read(tmp_path, write_vtt(cues)).words) == 40_000


def test_the_same_cues_as_webvtt_py_and_pysrt(tmp_path: Path) -> None:
    cues = [(0.5, 2.25, "So it beeps and stops."), (3.0, 4.5, "Three\ntimes."), (3600.0, 3661.001, "Done.")]
    vtt, srt = tmp_path / "a.vtt", tmp_path / "a.srt"
    vtt.write_text(write_vtt(cues), encoding="utf-8")
    theirs = webvtt.read(str(vtt))
    theirs.save_as_srt(str(srt))
    items = pysrt.open(str(srt))
    assert [cue.start for cue in theirs] == ["00:00:00.500", "00:00:03.000", "01:00:00.000"]
    for recording in (read_timed_text(vtt, "a.vtt"), read_timed_text(srt, "a.srt")):
        assert said(recording).split() == [word for item in items for word in item.text.split()]
        starts = [word.start_s for word in recording.words if word.text in ("So", "Three", "Done.")]
        assert starts == [item.start.ordinal / 1000 for item in items]
        assert recording.duration_s == items[-1].end.ordinal / 1000


TEXTS = st.text(st.sampled_from("abc <>&-.é\n♪"), min_size=1, max_size=30)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 50_000), st.floats(0.01, 30), TEXTS), max_size=8))
def test_written_cues_are_read_by_webvtt_py(
    tmp_path_factory: pytest.TempPathFactory, spans: list[tuple[float, float, str]]
) -> None:
    cues = sorted((start_s, start_s + length_s, text) for start_s, length_s, text in spans)
    expected = [cue for cue in cues if cue[2].strip() and round(cue[1] * 1000) > round(cue[0] * 1000)]
    read_back = webvtt.from_string(write_vtt(cues))
    assert len(read_back) == len(expected)
    if expected:
        file = tmp_path_factory.getbasetemp() / "written.vtt"
        file.write_text(write_vtt(cues), encoding="utf-8")
        words = read_timed_text(file, "written.vtt").words
        assert all(word.start_s < word.end_s for word in words)
        assert all(earlier.end_s <= later.start_s for earlier, later in zip(words, words[1:], strict=False))


def test_written_text_is_escaped() -> None:
    assert write_vtt([(0, 1.5, "a < b & c -->"), (3601, 3602.0004, "x\n\ny"), (5, 5, "never"), (6, 7, " ")]) == (
        "WEBVTT\n\n00:00:00.000 --> 00:00:01.500\na &lt; b &amp; c --&gt;\n\n01:00:01.000 --> 01:00:02.000\nx\ny\n"
    )
