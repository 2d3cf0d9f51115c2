"""Encodes sound and frames into mp4, mov and m4a files."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

from corpus_demo.render.picture import Frame
from corpus_demo.render.timings import FRAME, FRAMES_PER_S
from corpus_demo.render.voices import SAMPLE_RATE, Samples

_FORMATS = {"mp4": "mp4", "mov": "mov", "m4a": "ipod"}
_SOUND_BITS_PER_S = 32_000
_PICTURE_OPTIONS = {"crf": "24", "preset": "slow", "tune": "stillimage", "g": "50", "threads": "1"}
"""One thread, so that the same frames give the same bytes; a key frame every ten seconds keeps jumps quick."""


@dataclass(frozen=True)
class Film:
    """What goes into a file.

    Attributes:
        samples: Mono sound at `SAMPLE_RATE`.
        frames: Frames in order, none for a sound-only file.
        size: Width and height of the frames in pixels.
        created: Time written into the file as a phone would, or None.
    """

    samples: Samples
    frames: Iterable[Frame] = ()
    size: tuple[int, int] = (0, 0)
    created: str | None = None


def write_media(film: Film, path: Path) -> None:
    """Encode a film; the ending of the path (`mp4`, `mov` or `m4a`) decides the container.

    Sound is AAC, the picture H.264. Nothing in the file depends on the time of the run.
    """
    options = {"fflags": "+bitexact", "movflags": "+faststart"}
    with av.open(str(path), "w", format=_FORMATS[path.suffix[1:]], options=options) as container:
        if film.created:
            container.metadata["creation_time"] = film.created
        picture = _picture_stream(container, film.size) if film.size[0] else None
        sound = _sound_stream(container)
        for number, frame in enumerate(film.frames):
            if picture is not None:
                container.mux(picture.encode(_picture_frame(frame, number)))
            container.mux(sound.encode(_sound_frame(film.samples, number * FRAME)))
        if picture is None:
            for start in range(0, len(film.samples), FRAME):
                container.mux(sound.encode(_sound_frame(film.samples, start)))
        for stream in (picture, sound):
            if stream is not None:
                container.mux(stream.encode(None))


def _picture_stream(container: Any, size: tuple[int, int]) -> Any:
    stream = container.add_stream("libx264", rate=FRAMES_PER_S, options=_PICTURE_OPTIONS)
    stream.width, stream.height = size
    stream.pix_fmt = "yuv420p"
    stream.codec_context.flags |= av.codec.context.Flags.bitexact
    return stream


def _sound_stream(container: Any) -> Any:
    stream = container.add_stream("aac", rate=SAMPLE_RATE, layout="mono")
    stream.bit_rate = _SOUND_BITS_PER_S
    stream.codec_context.flags |= av.codec.context.Flags.bitexact
    return stream


def _picture_frame(frame: Frame, number: int) -> av.VideoFrame:
    made = av.VideoFrame.from_ndarray(frame, format="rgb24")
    made.pts = number
    made.time_base = Fraction(1, FRAMES_PER_S)
    return made


def _sound_frame(samples: Samples, start: int) -> av.AudioFrame:
    part = np.ascontiguousarray(samples[start : start + FRAME], dtype=np.float32).reshape(1, -1)
    made = av.AudioFrame.from_ndarray(part, format="fltp", layout="mono")
    made.sample_rate = SAMPLE_RATE
    made.pts = start
    made.time_base = Fraction(1, SAMPLE_RATE)
    return made
