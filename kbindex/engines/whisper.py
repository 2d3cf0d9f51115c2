"""Speech into words with times, with faster-whisper (Whisper, Radford et al. 2022, in CTranslate2)."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.media import SAMPLE_RATE, decode_audio
from kbindex.engines.weights import find_weights
from kbindex.errors import EngineError
from kbindex.records import Recording, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LEAST_WORD_S = 0.01
_CIRCLES = 2.4
"""Text that packs better than this goes in circles (the threshold of Radford et al. 2022, section 4.5)."""


@dataclass(frozen=True)
class Listening:
    """How to transcribe.

    Attributes:
        batch_size: Stretches of speech that are decoded together.
        beam_size: Readings of a stretch that are kept side by side.
        compute_type: Number format of CTranslate2.
        threads: Processor threads; 0 takes all.
        against_repeating: Penalty on repeated tokens (1 is none) where a stretch is heard a second time.
        most_hotword_tokens: Beyond this many tokens further hotwords are left away; the model has room for 224 at most.
    """

    batch_size: int = 8
    beam_size: int = 5
    compute_type: str = "int8"
    threads: int = 0
    against_repeating: float = 1.1
    most_hotword_tokens: int = 200


class FasterWhisper:
    """A speech recogniser for English. Fulfils `contracts.Transcriber`; loads when first used."""

    def __init__(
        self, name_or_folder: str | Path = "whisper-base", how: Listening | None = None, *, allow_hub: bool = False
    ) -> None:
        self._asked = name_or_folder
        self._how = how or Listening()
        self._allow_hub = allow_hub
        self._pipeline: Any = None

    @property
    def name(self) -> str:
        """Model and the options that change its words."""
        return f"{self._asked} {self._how.compute_type} beam {self._how.beam_size} batched"

    def transcribe(self, media: Path, path: str, hotwords: Sequence[str] = ()) -> Recording:
        """Transcribe a media file; a recording without speech has no words.

        Raises:
            MediaError: It cannot be decoded or has no sound.
            WeightsMissing: No source has the weights.
            WeightsDamaged: They are not the expected ones.
            EngineError: The model cannot be loaded, or fails at its work.
        """
        audio = decode_audio(media)
        self._load()
        try:
            words = tuple(_in_order(self._hear(audio, self._join_hotwords(hotwords)), len(audio) / SAMPLE_RATE))
        except Exception as error:  # CTranslate2 raises RuntimeError, ValueError
            raise EngineError(f"transcribing {media} failed ({error}); try --model whisper-tiny.en") from error
        return Recording(path, words, len(audio) / SAMPLE_RATE)

    def _hear(self, audio: NDArray[np.float32], hotwords: str | None) -> Iterator[Word]:
        """Transcribe; a stretch on which the model went round in circles is heard again, against repeating itself.

        Bad sound makes Whisper repeat a phrase to the end of the stretch, and with hotwords the phrase may be made of
        them: parts that nobody named. What goes in circles the second time too is left out.
        """
        for segment in self._segments(audio, hotwords, 1.0):
            if segment.compression_ratio <= _CIRCLES:
                yield from _words_of(segment)
                continue
            start_s = max(0.0, float(segment.start))
            stretch = audio[int(start_s * SAMPLE_RATE) : int(float(segment.end) * SAMPLE_RATE)]
            for again in self._segments(stretch, hotwords, self._how.against_repeating):
                if again.compression_ratio <= _CIRCLES:
                    yield from _shift(_words_of(again), start_s)

    def _segments(self, audio: NDArray[np.float32], hotwords: str | None, against_repeating: float) -> Iterable[Any]:
        segments, _ = self._pipeline.transcribe(
            audio,
            language="en",
            batch_size=self._how.batch_size,
            beam_size=self._how.beam_size,
            repetition_penalty=against_repeating,
            word_timestamps=True,
            vad_filter=True,
            hotwords=hotwords,
            condition_on_previous_text=False,
        )
        # All of them at once, for one transcription may not run inside another.
        return list(segments)

    def _load(self) -> None:
        if self._pipeline is None:
            folder = find_weights(self._asked, allow_hub=self._allow_hub)
            try:
                from faster_whisper import BatchedInferencePipeline, WhisperModel

                model = WhisperModel(
                    str(folder),
                    device="cpu",
                    compute_type=self._how.compute_type,
                    cpu_threads=self._how.threads or max(2, os.cpu_count() or 2),
                    local_files_only=True,
                )
                self._pipeline = BatchedInferencePipeline(model)
            except Exception as error:  # CTranslate2 raises RuntimeError for whatever is wrong with a folder
                raise EngineError(
                    f"the speech model in {folder} cannot be used ({error}); use whisper-base or whisper-tiny.en"
                ) from error

    def _join_hotwords(self, hotwords: Sequence[str]) -> str | None:
        """Join the hotwords that fit: the model reads them before the speech, and has room for so many tokens only."""
        joined = ""
        for word in dict.fromkeys(word.strip() for word in hotwords if word.strip()):
            longer = f"{joined}, {word}" if joined else word
            if len(self._pipeline.model.hf_tokenizer.encode(longer).ids) > self._how.most_hotword_tokens:
                break
            joined = longer
        return joined or None


def _words_of(segment: Any) -> Iterator[Word]:
    """Words without the spaces around them. What follows without a space belongs to the word before: "3" and ".5"."""
    held: Word | None = None
    for word in segment.words or ():
        if held is not None and not word.word.startswith(" "):
            likely = min(held.probability or 0.0, float(word.probability))
            held = Word(held.text + word.word.strip(), held.start_s, float(word.end), likely)
            continue
        if held is not None and held.text:
            yield held
        held = Word(word.word.strip(), float(word.start), float(word.end), float(word.probability))
    if held is not None and held.text:
        yield held


def _shift(words: Iterable[Word], by_s: float) -> Iterator[Word]:
    for word in words:
        yield replace(word, start_s=word.start_s + by_s, end_s=word.end_s + by_s)


def _in_order(words: Iterable[Word], duration_s: float) -> Iterator[Word]:
    """Let no word start before the one before it ends, end before it starts, or reach beyond the recording."""
    free_s = 0.0
    for word in sorted(words, key=lambda word: word.start_s):
        start_s = max(word.start_s, free_s)
        free_s = max(min(word.end_s, duration_s), start_s + _LEAST_WORD_S)
        yield Word(word.text, round(start_s, 3), round(free_s, 3), word.probability)
