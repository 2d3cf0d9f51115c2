"""Speech recognition on real speech whose words are published.

The five clips of LibriVox's reading of "Sense and Sensibility" (public domain) in Debian's `pocketsphinx-testdata`, with
the words in its file `transcription` (71 of them). Measured with these weights, int8, lower-cased, punctuation made
spaces, jiwer: whisper-tiny.en 0.056 (4 of 71: "mr" for "mister", one "a" of a stumble left out, two words misheard),
whisper-base 0.028 (the first two of these). The limits leave room for one or two words more on another processor.
"""

import re
from pathlib import Path

import jiwer
import pytest

from kbindex.engines.whisper import FasterWhisper

CLIPS = Path("/usr/share/pocketsphinx/test/data/librivox")
HOTWORDS = ("door latch", "control board", "solenoid", "thermal fuse", "float switch", "dishwasher")


def plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w\s']", " ", text.lower()).split())


def published() -> dict[str, str]:
    lines = (CLIPS / "transcription").read_text(encoding="utf-8").splitlines()
    matches = [re.fullmatch(r"<s> (.*) </s> \((.*)\)", line) for line in lines]
    return {match[2]: match[1] for match in matches if match}


def test_the_published_words_are_those_measured() -> None:
    assert len(published()) == 5
    assert sum(len(text.split()) for text in published().values()) == 71


@pytest.mark.parametrize(("model", "most"), [("whisper-tiny.en", 0.09), ("whisper-base", 0.06)])
def test_word_error_rate(model: str, most: float) -> None:
    engine = FasterWhisper(model)
    spoken = published()
    for hotwords in ((), HOTWORDS):
        heard = [engine.transcribe(CLIPS / f"{clip}.wav", clip, hotwords) for clip in spoken]
        texts = [plain(" ".join(word.text for word in recording.words)) for recording in heard]
        counts = jiwer.process_words(list(spoken.values()), texts)
        assert counts.wer <= most, f"with {len(hotwords)} hotwords: {counts.wer:.3f}"
        # Words of the trade that nobody says are not heard because they were given as hotwords.
        assert not any(word in text for word in HOTWORDS for text in texts)
