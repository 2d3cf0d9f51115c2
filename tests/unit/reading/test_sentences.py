"""Words and notes into sentences."""

import pytest
from made import sentence, written

from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.segments import split_jobs
from kbindex.reading.sentences import cut_note, cut_speech
from kbindex.records import Note, Recording, Word


def speak(text: str, pauses: dict[int, float] | None = None) -> Recording:
    words, at_s = [], 0.0
    for place, word in enumerate(text.split()):
        at_s += (pauses or {}).get(place, 0.0)
        words.append(Word(word, round(at_s, 2), round(at_s + 0.3, 2)))
        at_s += 0.3
    return Recording("walk.mp4", tuple(words), at_s)


def cut(text: str, pauses: dict[int, float] | None = None) -> list[str]:
    return [s.text for s in cut_speech(speak(text, pauses), load_lexicon())]


def test_punctuated_speech_is_cut_at_its_stops_and_keeps_times() -> None:
    sentences = cut_speech(speak("It won't start. Three beeps, nothing else! Mr. Day said so."), load_lexicon())
    assert [s.text for s in sentences] == ["It won't start.", "Three beeps, nothing else!", "Mr. Day said so."]
    assert [(s.at.start_s, s.at.end_s) for s in sentences] == [(0.0, 0.9), (0.9, 2.1), (2.1, 3.3)]


def test_raw_captions_are_cut_at_pauses() -> None:
    assert cut("the pump hums and nothing moves took the filter out it was packed", {6: 1.2}) == [
        "the pump hums and nothing moves",
        "took the filter out it was packed",
    ]


def test_raw_captions_are_cut_before_openers() -> None:
    pieces = cut("she says it beeps and will not run so i pulled the panel off okay now the latch looks worn")
    assert len(pieces) >= 2
    assert any(piece.startswith(("so ", "okay ")) for piece in pieces)


def test_a_number_and_a_share_are_not_torn() -> None:
    for text in (
        "i would say on this kind about ninety percent it's the latch",
        "and the board is going to be a hundred and sixty dollars",
    ):
        assert any("percent it's" in piece or "hundred and sixty" in piece for piece in cut(text))


def test_mended_words_keep_what_was_heard() -> None:
    lexicon = load_lexicon()
    heard, meant = next(iter(lexicon.mishearings.items()))
    (one,) = cut_speech(speak(f"we looked at the {heard} today."), lexicon)
    assert heard in one.heard
    assert meant in one.text


def test_no_words_no_sentences() -> None:
    assert cut_speech(Recording("walk.mp4", (), 3.0), load_lexicon()) == []


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("new latch in, no chg. bd swap -> OK, ran cycle", ["new latch in, no chg.", "bd swap", "-> OK, ran cycle"]),
        ("# Job 2057\n- beeps x3\n* all lamps blink; won't start", ["Job 2057", "beeps x3", "all lamps blink", "won't start"]),
        ("Cust. had reset it, no help. New disposer.", ["Cust. had reset it, no help.", "New disposer."]),
        ("\n \n", []),
    ],
)
def test_notes_are_cut_into_pieces(text: str, pieces: list[str]) -> None:
    assert [s.text for s in cut_note(Note("note.txt", text), load_lexicon())] == pieces


def test_one_machine_is_one_job() -> None:
    told = [
        sentence(text, n) for n, text in enumerate(["The dryer runs cold.", "New element.", "It heats.", "Next to the washer."])
    ]
    assert split_jobs(told, load_lexicon()) == [(0, 4)]


def test_on_to_the_next_machine_is_another_job() -> None:
    texts = ["The washer won't drain.", "Pump is jammed.", "New drain pump.", "Empties fine.", "Okay, over to the dryer now."]
    texts += ["The dryer turns with no heat.", "New thermal fuse.", "Hot air."]
    told = [sentence(text, n) for n, text in enumerate(texts)]
    assert split_jobs(told, load_lexicon()) == [(0, 4), (4, 8)]


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
    assert split_jobs([written(text) for text in texts], load_lexicon()) == [(0, 4), (4, 7)]
