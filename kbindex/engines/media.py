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
_TABLED = frozenset(("mov", "mp4", "avi"))
_MOST_MISSING = 0.2
_MOST_MISSING_S = 3.0
_LEAST_HOLE_S = 0.1


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

    Sample n is what is heard n/16000 s after the recording begins: where sound starts late or has a hole, there is
    silence. Packets that are damaged are such holes.

    Raises:
        MediaError: It cannot be opened, has no sound, none of it can be decoded, or the file breaks off half way.
    """
    import numpy as np

    with _open(file) as container:
        if not _is_recording(container):
            raise _no_recording(file)
        if not container.streams.audio:
            raise MediaError(file, "no audio stream", "record it with sound, or write what was done as a note (.txt)")
        stated_s = _stated_s(container)
        heard = bytearray()  # 16-bit, so that an hour takes 115 MB until the whole is made float32
        for piece in _decode(container, file):
            heard += piece.tobytes()
    if not heard:
        raise MediaError(file, "its sound cannot be decoded", "copy it from the camera again, or convert it to .mp4")
    heard_s = len(heard) / 2 / SAMPLE_RATE
    if stated_s - heard_s > max(_MOST_MISSING_S, _MOST_MISSING * stated_s):
        raise MediaError(file, f"breaks off after {heard_s:.0f} of {stated_s:.0f} seconds", "copy it from the camera again")
    samples = np.frombuffer(heard, dtype=np.int16).astype(np.float32)
    samples *= 1 / 32768
    return samples


def _stated_s(container: Any) -> float:
    """How long the sound should be; 0 where the file holds no table of its packets and so only guesses."""
    stream = container.streams.audio[0]
    if not _TABLED & set(container.format.name.split(",")) or not stream.duration:
        return 0.0
    return float(stream.duration * stream.time_base)


def _decode(container: Any, file: Path) -> Iterator[NDArray[np.int16]]:
    """Give samples frame by frame, and silence for what is missing."""
    import av
    import numpy as np

    resampler = av.AudioResampler(format="s16", layout="mono", rate=SAMPLE_RATE)
    longest = int((_duration_s(container) + _MOST_MISSING_S) * SAMPLE_RATE)
    given = 0
    try:
        for frame in _frames(container):
            missing = _place_of(frame, container) - given
            if missing > _LEAST_HOLE_S * SAMPLE_RATE and given + missing < longest:
                given += missing
                yield np.zeros(missing, dtype=np.int16)
            frame.pts = None  # the resampler would refuse a frame that does not join the one before
            for resampled in resampler.resample(frame):
                given += resampled.samples
                yield np.asarray(resampled.to_ndarray(), dtype=np.int16).reshape(-1)
        for resampled in resampler.resample(None):
            yield np.asarray(resampled.to_ndarray(), dtype=np.int16).reshape(-1)
    except (av.error.FFmpegError, ValueError) as error:
        raise _broken(file, error) from error


def _frames(container: Any) -> Iterator[Any]:
    """Give the frames that can be decoded."""
    import av

    for packet in container.demux(container.streams.audio[0]):
        try:
            yield from packet.decode()
        except av.error.InvalidDataError:
            continue


def _place_of(frame: Any, container: Any) -> int:
    """The sample at which a frame belongs by its time stamp; 0 where it has none."""
    if frame.pts is None or frame.time_base is None:
        return 0
    begin_s = (container.start_time or 0) / 1_000_000
    return int((float(frame.pts * frame.time_base) - begin_s) * SAMPLE_RATE)


@contextmanager
def _open(file: Path) -> Iterator[Any]:
    import av

    try:
        if file.stat().st_size == 0:
            raise MediaError(file, "is empty (0 bytes)", "copy it from the camera again")
        # No protocol but files: a list of streams that poses as a recording must not reach the network.
        container = av.open(str(file.resolve()), metadata_errors="replace", options={"protocol_whitelist": "file"})
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
