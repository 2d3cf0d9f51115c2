"""Words and notes into sentences."""

from collections.abc import Sequence

import pytest
from made import sentence, written

from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.segments import split_jobs
from kbindex.reading.sentences import ScoreEnds, cut_note, cut_speech
from kbindex.records import Note, Recording, Word


def speak(text: str, pauses: dict[int, float] | None = None) -> Recording:
    words, at_s = [], 0.0
    for place, word in enumerate(text.split()):
        at_s += (pauses or {}).get(place, 0.0)
        words.append(Word(word, round(at_s, 2), round(at_s + 0.3, 2)))
        at_s += 0.3
    return Recording("walk.mp4", tuple(words), at_s)


def never_ends(words: Sequence[str]) -> list[float]:
    """What the boundary head would say of words after which nothing ends."""
    return [-4.0] * len(words)


def ends_before(*openers: str) -> ScoreEnds:
    """What it would say of words before some of which a sentence ends."""
    return lambda words: [3.0 if following in openers else -4.0 for following in [*words[1:], ""]]


def cut(text: str, score_ends: ScoreEnds = never_ends, pauses: dict[int, float] | None = None) -> list[str]:
    return [s.text for s in cut_speech(speak(text, pauses), load_lexicon(), score_ends)]


def test_punctuated_speech_is_cut_at_its_stops_and_keeps_times() -> None:
    sentences = cut_speech(speak("It won't start. Three beeps, nothing else! Mr. Day said so."), load_lexicon(), never_ends)
    assert [s.text for s in sentences] == ["It won't start.", "Three beeps, nothing else!", "Mr. Day said so."]
    assert [(s.at.start_s, s.at.end_s) for s in sentences] == [(0.0, 0.9), (0.9, 2.1), (2.1, 3.3)]


def test_raw_captions_are_cut_at_pauses() -> None:
    pieces = cut(
        "the pump hums and nothing moves took the filter out it was packed", lambda words: [-3.0] * len(words), {6: 1.2}
    )
    assert pieces == [
        "the pump hums and nothing moves",
        "took the filter out it was packed",
    ]


def test_raw_captions_are_cut_where_the_head_hears_an_end() -> None:
    text = "she says it beeps and will not run so i pulled the panel off okay now the latch looks worn"
    assert cut(text, ends_before("so", "okay")) == [
        "she says it beeps and will not run",
        "so i pulled the panel off",
        "okay now the latch looks worn",
    ]


def test_what_runs_on_for_too_long_is_cut_at_its_best_place() -> None:
    text = " ".join(["click"] * 30 + ["then"] + ["clack"] * 30)
    pieces = cut(text, lambda words: [-2.0 if word == "then" else -4.0 for word in [*words[1:], ""]])
    assert pieces == [" ".join(["click"] * 30), " ".join(["then"] + ["clack"] * 30)]


def test_a_number_and_a_share_are_not_torn() -> None:
    for text in (
        "i would say on this kind about ninety percent it's the latch",
        "and the board is going to be a hundred and sixty dollars",
    ):
        assert any("percent it's" in piece or "hundred and sixty" in piece for piece in cut(text, ends_before("it's", "and")))


def test_mended_words_keep_what_was_heard() -> None:
    lexicon = load_lexicon()
    heard, meant = next(iter(lexicon.mishearings.items()))
    (one,) = cut_speech(speak(f"we looked at the {heard} today."), lexicon, never_ends)
    assert heard in one.heard
    assert meant in one.text


def test_no_words_no_sentences() -> None:
    assert cut_speech(Recording("walk.mp4", (), 3.0), load_lexicon(), never_ends) == []


def piece_ends(words: Sequence[str]) -> list[float]:
    """What the head of notes would say of plain shorthand: after a stop, and before an arrow."""
    return [
        1.0 if word.endswith((".", ";")) or after == "->" else -4.0 for word, after in zip(words, [*words[1:], ""], strict=True)
    ]


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("new latch in, no chg. bd swap -> OK, ran cycle", ["new latch in, no chg.", "bd swap", "-> OK, ran cycle"]),
        ("# Job 2057\n- beeps x3\n* all lamps blink; won't start", ["Job 2057", "beeps x3", "all lamps blink;", "won't start"]),
        ("\n \n", []),
    ],
)
def test_notes_are_cut_at_line_ends_and_where_the_head_sees_an_end(text: str, pieces: list[str]) -> None:
    assert [s.text for s in cut_note(Note("note.txt", text), load_lexicon(), piece_ends)] == pieces


def test_one_machine_is_one_job() -> None:
    told = [
        sentence(text, n) for n, text in enumerate(["The dryer runs cold.", "New element.", "It heats.", "Next to the washer."])
    ]
    assert split_jobs(told, [0.1] * len(told), load_lexicon()) == [(0, 4)]


def test_on_to_the_next_machine_is_another_job() -> None:
    texts = ["The washer won't drain.", "Pump is jammed.", "New drain pump.", "Empties fine.", "Okay, over to the dryer now."]
    texts += ["The dryer turns with no heat.", "New thermal fuse.", "Hot air."]
    told = [sentence(text, n) for n, text in enumerate(texts)]
    assert split_jobs(told, [0.1] * len(told), load_lexicon()) == [(0, 4), (4, 8)]


def test_lines_of_a_note_that_open_with_job_numbers() -> None:
    texts = [
        "4/6/26 duplex, 2 tickets",
        "2092 unit A",
        "dw beeps",
        "latch repl",
        "2093 unit B",
        "dw beeps too",
        "240 at the plug",
    ]
    assert split_jobs([written(text) for text in texts], [0.0] * len(texts), load_lexicon()) == [(0, 4), (4, 7)]


def test_a_job_opens_where_the_head_is_sure_and_not_where_it_rules_it_out() -> None:
    texts = ["The disposer drips.", "New hose.", "Dry now.", "And here is what else she has.", "The ice maker makes none."]
    told = [sentence(text, n) for n, text in enumerate(texts)]
    assert split_jobs(told, [0.0, 0.0, 0.0, 0.9, 0.2], load_lexicon()) == [(0, 3), (3, 5)]
    washer = [
        sentence(text, n)
        for n, text in enumerate(["The washer leaks.", "New pump.", "It ran.", "Dry.", "Now for the dryer vent."])
    ]
    assert split_jobs(washer, [0.0] * 5, load_lexicon()) == [(0, 5)]
