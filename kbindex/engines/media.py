"""Recordings with PyAV (FFmpeg's libraries): what they are, how long, when made, and their sound."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.errors import MediaError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLE_RATE = 16_000
_NO_RECORDINGS = ("_pipe", "subtitle")
_NAMES = (
    "srt webvtt ass ssa tty image2 image2pipe gif apng ico txt concat hls ffmetadata sub microdvd subviewer subviewer1 "
    "mpl2 mpsub jacosub lrc sami realtext pjs stl vplayer aqtitle scc mcc sup vobsub lavfi rawvideo bin xbin adf idf "
    "webp_anim sdp dash imf data hex tedcaptions"
)
_NO_RECORDING_NAMES = frozenset(_NAMES.split())
"""FFmpeg's names of what is a picture, captions, text or a list of other files."""


@dataclass(frozen=True)
class Probe:
    """What a media file says of itself; `duration_s` is 0 and `made_on` None where it does not tell."""

    duration_s: float
    has_audio: bool
    has_video: bool
    made_on: str | None


def is_media(file: Path) -> bool:
    """Whether a file is video or audio by its content: FFmpeg opens it, and it is no picture, captions or text."""
    try:
        with _open(file) as container:
            return _is_recording(container)
    except MediaError:
        return False


def probe(file: Path) -> Probe:
    """Read what a media file says of itself, without decoding it.

    Raises:
        MediaError: It cannot be opened, is damaged, or is no recording.
    """
    with _open(file) as container:
        if not _is_recording(container):
            raise _no_recording(file)
        has_audio, has_video = bool(container.streams.audio), bool(_moving(container))
        return Probe(_duration_s(container), has_audio, has_video, _made_on(container))


def decode_audio(file: Path) -> NDArray[np.float32]:
    """Decode a recording's first sound stream to (samples,) float32, -1..1, mono at 16 kHz, a frame at a time.

    Packets that are damaged are passed over as long as some can be decoded.

    Raises:
        MediaError: It cannot be opened, has no sound, or none of its sound can be decoded.
    """
    import numpy as np

    with _open(file) as container:
        if not _is_recording(container):
            raise _no_recording(file)
        if not container.streams.audio:
            raise MediaError(file, "no audio stream", "record it with sound, or write what was done as a note (.txt)")
        pieces = list(_decode(container, file))
    if not pieces:
        raise MediaError(file, "its sound cannot be decoded", "copy it from the camera again, or convert it to .mp4")
    samples = np.concatenate(pieces)
    return samples.astype(np.float32) / 32768.0


def _decode(container: Any, file: Path) -> Iterator[NDArray[np.int16]]:
    """Give samples frame by frame; 16-bit, so that an hour takes 115 MB before the whole is made float32."""
    import av
    import numpy as np

    resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE)
    try:
        for packet in container.demux(container.streams.audio[0]):
            try:
                frames = packet.decode()
            except av.error.InvalidDataError:
                continue
            for frame in frames:
                frame.pts = None  # gaps and jumps in the time stamps would make the resampler refuse the frame
                for resampled in resampler.resample(frame):
                    yield np.asarray(resampled.to_ndarray(), dtype=np.int16).reshape(-1)
        for resampled in resampler.resample(None):
            yield np.asarray(resampled.to_ndarray(), dtype=np.int16).reshape(-1)
    except (av.error.FFmpegError, ValueError) as error:
        raise _broken(file, error) from error


@contextmanager
def _open(file: Path) -> Iterator[Any]:
    import av

    try:
        if file.stat().st_size == 0:
            raise MediaError(file, "is empty (0 bytes)", "copy it from the camera again")
        container = av.open(str(file), metadata_errors="replace")
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise _broken(file, error) from error
    with container:
        yield container


def _is_recording(container: Any) -> bool:
    names = container.format.name.split(",")
    if any(name in _NO_RECORDING_NAMES or name.endswith(_NO_RECORDINGS) for name in names):
        return False
    return bool(container.streams.audio or _moving(container))


def _moving(container: Any) -> list[Any]:
    """The video streams that are no cover pictures."""
    import av

    cover = av.stream.Disposition.attached_pic
    return [stream for stream in container.streams.video if not stream.disposition & cover]


def _duration_s(container: Any) -> float:
    if container.duration:
        return float(container.duration) / 1_000_000
    spans = [float(one.duration * one.time_base) for one in container.streams if one.duration and one.time_base]
    return max(spans, default=0.0)


def _made_on(container: Any) -> str | None:
    """The date of the first `creation_time`, of the file or a stream; the year 1904 or 1970 is an unset clock."""
    tags = [container.metadata, *(stream.metadata for stream in container.streams)]
    for tag in tags:
        named = {name.lower(): value for name, value in tag.items()}
        for name in ("com.apple.quicktime.creationdate", "creation_time", "date_recorded", "date"):
            made = _read_date(named.get(name, ""))
            if made is not None:
                return made
    return None


def _read_date(text: str) -> str | None:
    try:
        made = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return made.date().isoformat() if made.year > 1980 else None


def _broken(file: Path, error: Exception) -> MediaError:
    told = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return MediaError(file, f"cannot be decoded ({told})", "copy it from the camera again, or convert it to .mp4")


def _no_recording(file: Path) -> MediaError:
    return MediaError(file, "is no recording", "name video or audio files, or keep it out of the folder")
