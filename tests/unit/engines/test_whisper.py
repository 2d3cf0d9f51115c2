"""What is made of a recogniser's segments: words, their order, hotwords, and stretches that go in circles. No model."""

import wave
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from kbindex.engines.whisper import FasterWhisper, Listening
from kbindex.errors import EngineError, MediaError, WeightsMissing
from kbindex.records import Word


def segment(*words: tuple[str, float, float], ratio: float = 1.5) -> Any:
    spoken = [SimpleNamespace(word=text, start=start, end=end, probability=0.9) for text, start, end in words]
    end_s = words[-1][2] if words else 1.0
    return SimpleNamespace(words=spoken, start=words[0][1] if words else 0.0, end=end_s, compression_ratio=ratio)


@dataclass
class Recogniser:
    """Gives the segments it was told to, one list a call, and remembers how it was called."""

    answers: list[list[Any]]
    calls: list[dict[str, Any]] = field(default_factory=list)

    @property
    def model(self) -> Any:
        return SimpleNamespace(hf_tokenizer=SimpleNamespace(encode=lambda text: SimpleNamespace(ids=text.split())))

    def transcribe(self, audio: Any, **options: Any) -> tuple[Any, None]:
        self.calls.append({"samples": len(audio), **options})
        return iter(self.answers[len(self.calls) - 1]), None


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    file = tmp_path / "a.wav"
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(np.zeros(16_000 * 10, dtype="<i2").tobytes())
    return file


def engine_with(*answers: list[Any], how: Listening | None = None) -> tuple[FasterWhisper, Recogniser]:
    engine, recogniser = FasterWhisper("none", how), Recogniser(list(answers))
    engine._pipeline = recogniser
    return engine, recogniser


def test_words_keep_their_punctuation_and_lose_their_spaces(clip: Path) -> None:
    engine, _ = engine_with(
        [segment((" It", 0.5, 0.7), (" beeps,", 0.7, 1.2)), segment((" then", 2.0, 2.2), (" stops.", 2.2, 2.8))]
    )
    recording = engine.transcribe(clip, "van/a.wav")
    assert recording.path == "van/a.wav"
    assert recording.duration_s == 10.0
    assert recording.words == (
        Word("It", 0.5, 0.7, 0.9),
        Word("beeps,", 0.7, 1.2, 0.9),
        Word("then", 2.0, 2.2, 0.9),
        Word("stops.", 2.2, 2.8, 0.9),
    )


def test_what_follows_without_a_space_belongs_to_the_word_before(clip: Path) -> None:
    engine, _ = engine_with([segment((" 3", 0.5, 0.7), (".5", 0.7, 0.9), (" follow", 1.0, 1.2), ("-up", 1.2, 1.4))])
    words = engine.transcribe(clip, "a").words
    assert [(word.text, word.start_s, word.end_s) for word in words] == [("3.5", 0.5, 0.9), ("follow-up", 1.0, 1.4)]


def test_times_are_put_in_order(clip: Path) -> None:
    engine, _ = engine_with(
        [segment((" a", 1.0, 2.0), (" b", 1.5, 1.5), (" c", 1.4, 3.0), (" d", 9.9, 14.0), (" ", 9.9, 9.95))]
    )
    words = engine.transcribe(clip, "a").words
    assert [word.text for word in words] == ["a", "c", "b", "d"]
    assert all(word.start_s < word.end_s for word in words)
    assert all(earlier.end_s <= later.start_s for earlier, later in zip(words, words[1:], strict=False))
    assert words[-1].end_s == 10.0


def test_silence_is_a_recording_without_words(clip: Path) -> None:
    engine, _ = engine_with([])
    recording = engine.transcribe(clip, "a")
    assert (recording.words, recording.duration_s) == ((), 10.0)


def test_a_stretch_that_goes_in_circles_is_heard_again(clip: Path) -> None:
    circles = segment((" the", 2.0, 3.0), (" latch", 3.0, 6.0), ratio=5.7)
    engine, recogniser = engine_with(
        [segment((" So", 0.5, 1.0)), circles, segment((" Done.", 8.0, 8.5))],
        [segment((" it", 0.25, 0.5), (" drains", 0.5, 1.0))],
    )
    words = engine.transcribe(clip, "a", ["latch"]).words
    assert [(word.text, word.start_s) for word in words] == [("So", 0.5), ("it", 2.25), ("drains", 2.5), ("Done.", 8.0)]
    assert [call["repetition_penalty"] for call in recogniser.calls] == [1.0, 1.1]
    assert [call["samples"] for call in recogniser.calls] == [160_000, 64_000]


def test_what_goes_in_circles_twice_is_left_out(clip: Path) -> None:
    circles = segment((" door latch", 2.0, 6.0), ratio=5.7)
    engine, _ = engine_with([segment((" So", 0.5, 1.0)), circles], [circles])
    assert [word.text for word in engine.transcribe(clip, "a").words] == ["So"]


@pytest.mark.parametrize(
    ("hotwords", "given"),
    [
        ([], None),
        (["", "  "], None),
        (["door latch", "solenoid", "door latch"], "door latch, solenoid"),
        (["a b", "c d", "e f"], "a b, c d"),
    ],
)
def test_as_many_hotwords_as_fit(clip: Path, hotwords: list[str], given: str | None) -> None:
    engine, recogniser = engine_with([], how=Listening(most_hotword_tokens=4))
    engine.transcribe(clip, "a", hotwords)
    assert recogniser.calls[0]["hotwords"] == given


def test_speech_is_heard_as_english_without_silences(clip: Path) -> None:
    engine, recogniser = engine_with([])
    engine.transcribe(clip, "a")
    told = recogniser.calls[0]
    assert (told["language"], told["vad_filter"], told["word_timestamps"], told["batch_size"]) == ("en", True, True, 8)
    assert told["condition_on_previous_text"] is False


def test_the_name_tells_model_and_options_without_loading() -> None:
    assert FasterWhisper("whisper-base").name == "whisper-base int8 beam 5 batched"
    assert FasterWhisper("whisper-base", Listening(beam_size=1)).name != FasterWhisper("whisper-base").name


def test_missing_weights_are_told_before_any_work(clip: Path) -> None:
    with pytest.raises(WeightsMissing, match="whisper-huge"):
        FasterWhisper("whisper-huge").transcribe(clip, "a")


def test_a_file_without_sound_is_told_before_the_model_is_loaded(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(b"")
    with pytest.raises(MediaError):
        FasterWhisper("whisper-huge").transcribe(tmp_path / "a.mp4", "a")


def test_a_failing_model_is_told_as_an_engine_error(clip: Path) -> None:
    engine, recogniser = engine_with()
    with pytest.raises(EngineError, match="transcribing .* failed .*; try") as caught:
        engine.transcribe(clip, "a")
    assert isinstance(caught.value.__cause__, IndexError)
    assert len(recogniser.calls) == 1
