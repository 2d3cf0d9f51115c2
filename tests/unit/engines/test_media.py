"""Recordings: what is one, how long, when made, and sound that stands where it is heard. The media are made here."""

import threading
import wave
from collections.abc import Callable
from fractions import Fraction
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from kbindex.engines.media import SAMPLE_RATE, decode_audio, is_media, probe
from kbindex.errors import MediaError

RATE = 48_000


def tone(seconds: float, rate: int = RATE) -> NDArray[np.float32]:
    return (0.5 * np.sin(2 * np.pi * 440 * np.arange(int(seconds * rate)) / rate)).astype(np.float32)


def write_media(
    file: Path,
    *,
    sound: NDArray[np.float32] | None = None,
    starts_s: float = 0.0,
    hole_s: float = 0.0,
    picture_s: float = 0.0,
    tags: dict[str, str] | None = None,
    options: dict[str, str] | None = None,
) -> None:
    """Write a media file; sound begins at `starts_s` and has a hole of `hole_s` in its middle."""
    with av.open(str(file), "w", options=options or {}) as container:
        container.metadata.update(tags or {})
        if picture_s:
            video = container.add_stream("mpeg4", rate=10)
            video.width = video.height = 64
            video.pix_fmt = "yuv420p"
        if sound is not None:
            codec = {".wav": "pcm_s16le", ".ogg": "libopus", ".webm": "libopus", ".flac": "flac", ".mp3": "libmp3lame"}
            audio = container.add_stream(codec.get(file.suffix, "aac"), rate=RATE)
            audio.bit_rate = 128_000
            audio.layout = "mono"
        if picture_s:
            for number in range(int(picture_s * 10)):
                picture = av.VideoFrame.from_ndarray(np.full((64, 64, 3), number % 255, np.uint8), format="rgb24")
                picture.pts = number
                container.mux(video.encode(picture))
            container.mux(video.encode(None))
        if sound is not None:
            for start in range(0, len(sound), 1024):
                piece = sound[start : start + 1024][np.newaxis]
                frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(piece), format="fltp", layout="mono")
                frame.sample_rate = RATE
                late_s = starts_s + (hole_s if start >= len(sound) / 2 else 0.0)
                frame.pts, frame.time_base = start + int(late_s * RATE), Fraction(1, RATE)
                container.mux(audio.encode(_as_format(frame, audio.format.name)))
            container.mux(audio.encode(None))


def _as_format(frame: av.AudioFrame, name: str) -> av.AudioFrame:
    if name == "fltp":
        return frame
    (made,) = av.AudioResampler(format=name, layout="mono", rate=RATE).resample(frame)
    made.pts, made.time_base = frame.pts, frame.time_base
    return made


def test_what_a_video_says_of_itself(tmp_path: Path) -> None:
    file = tmp_path / "a.mp4"
    write_media(file, sound=tone(2), picture_s=2, tags={"creation_time": "2026-03-02T21:15:00Z"})
    told = probe(file)
    assert is_media(file)
    assert told.duration_s == pytest.approx(2.0, abs=0.1)
    assert (told.has_audio, told.has_video, told.made_on) == (True, True, "2026-03-02")


@pytest.mark.parametrize(
    ("tag", "made_on"),
    [
        ("2026-03-02T21:15:00.000000Z", "2026-03-02"),
        ("1904-01-01T00:00:00Z", None),
        ("1970-01-01T00:00:00Z", None),
        (None, None),
    ],
)
def test_when_a_recording_was_made(tmp_path: Path, tag: str | None, made_on: str | None) -> None:
    """Times of 1904 and 1970 are where clocks of MP4 and Unix begin: the camera's was not set."""
    write_media(tmp_path / "a.mp4", sound=tone(1), tags={"creation_time": tag} if tag else {})
    assert probe(tmp_path / "a.mp4").made_on == made_on


@pytest.mark.parametrize("name", ["a.wav", "a.mp4", "a.mov", "a.m4a", "a.mkv", "a.ogg", "a.webm", "a.flac", "a.mp3"])
def test_sound_comes_as_mono_floats_at_16_khz(tmp_path: Path, name: str) -> None:
    write_media(tmp_path / name, sound=tone(2))
    samples = decode_audio(tmp_path / name)
    assert samples.dtype == np.float32
    assert samples.ndim == 1
    assert len(samples) / SAMPLE_RATE == pytest.approx(2.0, abs=0.1)
    middle = samples[SAMPLE_RATE // 2 : SAMPLE_RATE + SAMPLE_RATE // 2]
    assert np.abs(middle).max() == pytest.approx(0.5, abs=0.06)
    assert np.argmax(np.abs(np.fft.rfft(middle))) == 440  # one second: one bin a hertz


def test_stereo_becomes_the_mean_of_its_channels(tmp_path: Path) -> None:
    left = (tone(1, SAMPLE_RATE) * 32767).astype("<i2")
    with wave.open(str(tmp_path / "a.wav"), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(SAMPLE_RATE)
        out.writeframes(np.column_stack([left, np.zeros_like(left)]).tobytes())
    samples = decode_audio(tmp_path / "a.wav")
    assert len(samples) == SAMPLE_RATE
    np.testing.assert_allclose(samples, left / 32768 / 2, atol=2 / 32768)


@pytest.mark.parametrize("name", ["a.mp4", "a.mkv"])
def test_sound_that_starts_late_stays_late(tmp_path: Path, name: str) -> None:
    write_media(tmp_path / name, sound=tone(1), starts_s=1.5, picture_s=3)
    samples = decode_audio(tmp_path / name)
    assert np.flatnonzero(np.abs(samples) > 0.1)[0] / SAMPLE_RATE == pytest.approx(1.5, abs=0.05)


def test_a_hole_in_the_sound_stays_a_hole(tmp_path: Path) -> None:
    write_media(tmp_path / "a.mkv", sound=tone(2), hole_s=3.0)
    samples = decode_audio(tmp_path / "a.mkv")
    assert len(samples) / SAMPLE_RATE == pytest.approx(5.0, abs=0.1)
    assert np.abs(samples[int(1.2 * SAMPLE_RATE) : int(3.8 * SAMPLE_RATE)]).max() < 0.01


def test_damage_in_the_middle_keeps_what_follows_in_its_place(tmp_path: Path) -> None:
    file = tmp_path / "a.mp4"
    sound = np.concatenate([tone(4), np.zeros(4 * RATE, np.float32), tone(2)])
    write_media(file, sound=sound, options={"movflags": "faststart"})
    data = bytearray(file.read_bytes())
    at = len(data) // 3
    data[at : at + 2000] = bytes(2000)
    file.write_bytes(data)
    samples = decode_audio(file)
    loud = np.flatnonzero(np.abs(samples) > 0.2) / SAMPLE_RATE
    assert loud[loud > 6][0] == pytest.approx(8.0, abs=0.1)


def refused(call: Callable[[Path], object], file: Path) -> str:
    with pytest.raises(MediaError) as caught:
        call(file)
    assert caught.value.path == str(file)
    assert "; " in str(caught.value), "the message ends with what to do next"
    return str(caught.value)


def test_a_file_that_breaks_off_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "a.mp4"
    write_media(file, sound=tone(30), options={"movflags": "faststart"})
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])
    assert "breaks off after" in refused(decode_audio, file)
    write_media(tmp_path / "b.mp4", sound=tone(30))
    (tmp_path / "b.mp4").write_bytes((tmp_path / "b.mp4").read_bytes()[:4000])
    assert "cannot be decoded" in refused(decode_audio, tmp_path / "b.mp4")
    assert not is_media(tmp_path / "b.mp4")


def test_a_video_without_sound_is_refused(tmp_path: Path) -> None:
    write_media(tmp_path / "a.mp4", picture_s=1)
    assert is_media(tmp_path / "a.mp4")
    assert not probe(tmp_path / "a.mp4").has_audio
    assert refused(decode_audio, tmp_path / "a.mp4").startswith("no audio stream")


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(b"")
    assert "0 bytes" in refused(decode_audio, tmp_path / "a.mp4")
    assert "0 bytes" in refused(probe, tmp_path / "a.mp4")
    assert not is_media(tmp_path / "a.mp4")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert "No such file" in refused(decode_audio, tmp_path / "none.mp4")


NO_MEDIA = {
    "note.txt": b"Replaced the latch. It runs.\n" * 50,
    "note.md": b"# Dryer\n\n- no heat\n",
    "table.csv": b"unit,complaint\ndryer,cold\n" * 50,
    "a.srt": b"1\n00:00:01,000 --> 00:00:02,000\nhi\n",
    "a.vtt": b"WEBVTT\n\n00:01.000 --> 00:02.000\nhi\n",
    "a.ass": b"[Script Info]\nScriptType: v4.00+\n[Events]\n",
    "a.json": b'{"a": 1}' * 100,
    "a.html": b"<html><body>hello</body></html>",
    "a.svg": b'<svg xmlns="http://www.w3.org/2000/svg"></svg>',
    "a.pdf": b"%PDF-1.4\n" + b"x" * 5000,
    "a.zip": b"PK\x03\x04" + bytes(500),
    "zeros.bin": bytes(100_000),
    "noise.bin": np.random.default_rng(1).bytes(100_000),
    "ansi.nfo": b"\x1b[31mred\n" * 100,
    "list.ffconcat": b"ffconcat version 1.0\nfile a.mp4\n",
}


@pytest.mark.parametrize("name", NO_MEDIA)
@pytest.mark.parametrize("ending", ["", ".mp4"])
def test_text_and_other_files_are_no_media(tmp_path: Path, name: str, ending: str) -> None:
    file = tmp_path / (name + ending)
    file.write_bytes(NO_MEDIA[name])
    assert not is_media(file)
    refused(decode_audio, file)


@pytest.mark.parametrize("codec", ["png", "mjpeg", "bmp", "tiff"])
def test_pictures_are_no_media(tmp_path: Path, codec: str) -> None:
    encoder = av.CodecContext.create(codec, "w")
    encoder.width, encoder.height, encoder.time_base = 64, 64, Fraction(1, 25)
    encoder.pix_fmt = "yuvj420p" if codec == "mjpeg" else ("bgr24" if codec == "bmp" else "rgb24")
    frame = av.VideoFrame.from_ndarray(np.full((64, 64, 3), 90, np.uint8), format="rgb24").reformat(format=encoder.pix_fmt)
    packets = encoder.encode(frame) + encoder.encode(None)
    file = tmp_path / f"a.{codec}"
    file.write_bytes(b"".join(bytes(packet) for packet in packets))
    assert not is_media(file)


def test_a_list_that_poses_as_a_recording_reaches_no_network(tmp_path: Path) -> None:
    asked: list[str] = []

    class Listener(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

        def log_message(self, format: str, *args: object) -> None:
            return

    server = HTTPServer(("127.0.0.1", 0), Listener)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    url = f"http://127.0.0.1:{server.server_port}/x.ts"
    (tmp_path / "a.mp4").write_text(f"#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{url}\n#EXT-X-ENDLIST\n")
    assert not is_media(tmp_path / "a.mp4")
    server.shutdown()
    assert asked == []
