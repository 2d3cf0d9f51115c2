"""Lays sentences and tones on the time line of a recording, and writes what is known of their times."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from corpus_demo.render.script import Script
from corpus_demo.render.sound import SPEECH_LEVEL_DB, bed, level, room_tone, tone
from corpus_demo.render.voices import SAMPLE_RATE, Samples, Speaker

FRAMES_PER_S = 5
FRAME = SAMPLE_RATE // FRAMES_PER_S
"""Samples during one frame of the picture; tones start with a frame so that the lamp keeps in step."""
_TONE_PERIOD = 2 * FRAME
"""A tone every 0.4 s (about 0.18 s on, 0.22 s off): 2.5 flashes of the lamp a second."""
_LEAD_S = 0.8
_TAIL_S = 1.2


@dataclass(frozen=True)
class Placed:
    """Sentence number (1-based) and where its sound lies, in samples."""

    number: int
    start: int
    end: int


@dataclass(frozen=True)
class Timeline:
    """A recording's sound with what is known about it.

    Attributes:
        samples: The mixed sound, mono at `SAMPLE_RATE`.
        placed: Where each sentence lies, in order.
        tones: First sample of every tone, each the first of a frame.
    """

    samples: Samples
    placed: tuple[Placed, ...]
    tones: tuple[int, ...]

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return len(self.samples) / SAMPLE_RATE

    def lit_frames(self) -> list[bool]:
        """For each frame of the picture, whether the lamp is lit: during the frame in which a tone starts."""
        starts = {start // FRAME for start in self.tones}
        return [frame in starts for frame in range(-(-len(self.samples) // FRAME))]


def seed_of(name: str) -> int:
    """A fixed number drawn from a name, the same on every machine."""
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:4], "big") % (2**31)


def lay_out(script: Script, speak: Speaker) -> Timeline:
    """Speak a script and mix it with its tones, its bed and the tone of the room.

    Args:
        script: The checked script.
        speak: Its speaker.
    """
    chance = np.random.default_rng(seed_of(script.id))
    frequency = float(chance.uniform(1700, 2400))
    spoken: list[tuple[Placed, Samples]] = []
    tones: list[int] = []
    cursor = round(_LEAD_S * SAMPLE_RATE)
    for number, sentence in enumerate(script.sentences, 1):
        samples = speak(sentence.text)
        spoken.append((Placed(number, cursor, cursor + len(samples)), samples))
        cursor += len(samples)
        if sentence.beeps:
            tones += _two_rounds(cursor, sentence.beeps)
            cursor = tones[-1] + _TONE_PERIOD
        cursor += round(float(chance.uniform(0.25, 0.9)) * SAMPLE_RATE)
    length = cursor + round(_TAIL_S * SAMPLE_RATE)
    mixed = _speech(spoken, length) + bed(script.sound, length, chance) + room_tone(length, chance)
    for start in tones:
        beep = tone(frequency)
        mixed[start : start + len(beep)] += beep
    return Timeline(np.clip(mixed, -0.98, 0.98), tuple(place for place, _ in spoken), tuple(tones))


def _two_rounds(cursor: int, count: int) -> list[int]:
    """Starts of `count` tones given twice, with a gap of 0.8 s between the rounds."""
    first = (cursor + round(0.35 * SAMPLE_RATE)) // FRAME + 1
    second = first + 2 * count + 4
    return [FRAME * (start + 2 * n) for start in (first, second) for n in range(count)]


def _speech(spoken: list[tuple[Placed, Samples]], length: int) -> Samples:
    """Put the sentences into silence at their places, at the speech level, with peaks bent softly."""
    gain = 10 ** (SPEECH_LEVEL_DB / 20) / level(np.concatenate([samples for _, samples in spoken]))
    track = np.zeros(length, dtype=np.float32)
    for place, samples in spoken:
        track[place.start : place.end] = np.tanh(samples * gain / 0.9) * 0.9
    return track


def write_gold(script: Script, timeline: Timeline, folder: Path) -> None:
    """Write the gold file of a recording: sentence times in seconds, and the jobs as in the script."""
    sentences = [
        {"n": place.number, "kind": sentence.kind, "text": sentence.text, **_seconds(place)}
        for place, sentence in zip(timeline.placed, script.sentences, strict=True)
    ]
    gold: dict[str, Any] = {
        "id": script.id,
        "media": script.media_name,
        "voice": script.voice,
        "duration_s": round(timeline.duration_s, 3),
        "sentences": sentences,
        "jobs": script.jobs,
    }
    text = json.dumps(gold, indent=1, ensure_ascii=False, default=str)
    (folder / f"{script.id}.json").write_text(text + "\n", encoding="utf-8")


def _seconds(place: Placed) -> dict[str, float]:
    return {"start_s": round(place.start / SAMPLE_RATE, 3), "end_s": round(place.end / SAMPLE_RATE, 3)}


def write_subtitles(script: Script, timeline: Timeline, path: Path) -> None:
    """Write a SubRip file with one cue a sentence."""
    cues = [
        f"{place.number}\n{_clock(place.start)} --> {_clock(place.end)}\n{sentence.text}\n"
        for place, sentence in zip(timeline.placed, script.sentences, strict=True)
    ]
    path.write_text("\n".join(cues), encoding="utf-8")


def _clock(sample: int) -> str:
    """A SubRip time, HH:MM:SS,mmm."""
    total = round(sample * 1000 / SAMPLE_RATE)
    minutes, milliseconds = divmod(total, 60_000)
    return f"{minutes // 60:02}:{minutes % 60:02}:{milliseconds // 1000:02},{milliseconds % 1000:03}"
