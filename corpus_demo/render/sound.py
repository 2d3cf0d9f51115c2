"""Everything heard besides the voice: machine tones, room tone, and the bed of music or hum under the speech."""

from __future__ import annotations

import numpy as np

from corpus_demo.render.voices import SAMPLE_RATE, Samples

SPEECH_LEVEL_DB = -21.0
"""Level of the speech, root mean square over the spoken parts, in dB below full scale."""
TONE_ON_S = 0.18
_TONE_LEVEL = 0.12
_FADE_S = 0.008
_CHORDS = ((0, 4, 7, 12), (9, 12, 16, 21), (5, 9, 12, 17), (7, 11, 14, 19), (2, 5, 9, 14))
"""Semitones above the key note: first, sixth, fourth, fifth and second degree of a major key."""


def level(samples: Samples) -> float:
    """Root mean square of samples, never zero."""
    return float(np.sqrt(np.mean(np.square(samples, dtype=np.float64)) + 1e-12))


def at_level(samples: Samples, decibels: float) -> Samples:
    """Scale samples to a level in dB below full scale."""
    return np.asarray(samples * (10 ** (decibels / 20) / level(samples)), dtype=np.float32)


def tone(frequency: float) -> Samples:
    """One beep of a control panel: a tone with a weak second partial and short fades."""
    time = np.arange(round(TONE_ON_S * SAMPLE_RATE)) / SAMPLE_RATE
    wave = np.sin(2 * np.pi * frequency * time) + 0.15 * np.sin(4 * np.pi * frequency * time)
    fade = np.minimum(1.0, np.minimum(time, time[::-1]) / _FADE_S)
    return np.asarray(_TONE_LEVEL * wave * fade, dtype=np.float32)


def room_tone(length: int, chance: np.random.Generator) -> Samples:
    """Quiet air of a room, a little different each time: level -62 to -54 dB, tilt between pink and brown."""
    return at_level(_noise(length, float(chance.uniform(0.5, 0.9)), chance), float(chance.uniform(-62, -54)))


def bed(kind: str, length: int, chance: np.random.Generator) -> Samples:
    """What plays under the voice, 18 to 22 dB below the speech.

    Args:
        kind: `none`, `radio` (music through a small loudspeaker), `music` or `hum` (a motor on the mains).
        length: Number of samples.
        chance: Source of key, tempo and level.
    """
    if kind == "none":
        return np.zeros(length, dtype=np.float32)
    down = float(chance.uniform(18, 22))
    made = _hum(length, chance) if kind == "hum" else _music(length, chance)
    if kind == "radio":
        made = at_level(_small_loudspeaker(made), -20) + at_level(_noise(length, 0.2, chance), -45)
    return at_level(made, SPEECH_LEVEL_DB - down)


def _noise(length: int, tilt: float, chance: np.random.Generator) -> Samples:
    """Noise whose amplitude falls with frequency to the power `tilt` (0.5 is pink)."""
    spectrum = np.fft.rfft(chance.standard_normal(length))
    frequency = np.fft.rfftfreq(length, 1 / SAMPLE_RATE)
    return np.asarray(np.fft.irfft(spectrum / np.maximum(frequency, 40.0) ** tilt, length), dtype=np.float32)


def _hum(length: int, chance: np.random.Generator) -> Samples:
    """Hum at twice the 60 Hz mains with its partials, and the rush of air of a fan."""
    time = np.arange(length) / SAMPLE_RATE
    wave = np.zeros(length)
    for partial, strength in ((60, 0.3), (120, 1.0), (240, 0.45), (360, 0.2), (480, 0.12)):
        wave += strength * np.sin(2 * np.pi * partial * time + chance.uniform(0, 2 * np.pi))
    return at_level(np.asarray(wave, dtype=np.float32), -20) + at_level(_noise(length, 0.5, chance), -22)


def _music(length: int, chance: np.random.Generator) -> Samples:
    """A made-up arpeggio over chords drawn at random: no tune that anybody wrote."""
    step = round(SAMPLE_RATE * 60 / float(chance.uniform(76, 108)) / 2)
    key = 196.0 * 2 ** (int(chance.integers(0, 8)) / 12)
    made = np.zeros(length + 4 * step, dtype=np.float32)
    chord = _CHORDS[0]
    for beat, start in enumerate(range(0, length, step)):
        if beat % 8 == 0:
            chord = _CHORDS[int(chance.integers(0, len(_CHORDS)))]
            made[start : start + 4 * step] += _plucked(key / 2 * 2 ** (chord[0] / 12), 4 * step)
        note = chord[(0, 2, 1, 3, 2, 1, 3, 2)[beat % 8]]
        made[start : start + 2 * step] += _plucked(key * 2 ** (note / 12), 2 * step) * float(chance.uniform(0.6, 1))
    return made[:length]


def _plucked(frequency: float, length: int) -> Samples:
    """A note that dies away like a plucked string, faded out at the end."""
    time = np.arange(length) / SAMPLE_RATE
    wave = sum(np.sin(2 * np.pi * frequency * n * time) * np.exp(-time * (2.0 + n)) / n for n in (1, 2, 3))
    fade = np.minimum(1.0, np.minimum(time / 0.005, time[::-1] / 0.05))
    return np.asarray(wave * fade, dtype=np.float32)


def _small_loudspeaker(samples: Samples) -> Samples:
    """Keep 250 to 3500 Hz, with soft edges."""
    frequency = np.fft.rfftfreq(len(samples), 1 / SAMPLE_RATE)
    passed = 1 / (1 + (250 / np.maximum(frequency, 1)) ** 4) / (1 + (frequency / 3500) ** 4)
    return np.asarray(np.fft.irfft(np.fft.rfft(samples) * passed, len(samples)), dtype=np.float32)
