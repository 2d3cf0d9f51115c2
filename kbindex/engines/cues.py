"""Cues of WebVTT and SubRip files.

WebVTT is read by the parser of the W3C's "WebVTT: The Web Video Text Tracks Format" (section 6, Parsing), SubRip by its
time lines, since it has no standard. What is not a readable cue is dropped, the rest is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_ARROW = "-->"
_VTT_SIGNATURE = re.compile(r"WEBVTT(?:[ \t].*)?$")
_VTT_TIME = r"(?:(\d+):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_VTT_TIMES = re.compile(rf"[ \t\f]*{_VTT_TIME}[ \t\f]*-->[ \t\f]*{_VTT_TIME}(?![\d.:])")
_VTT_STAMP = re.compile(rf"{_VTT_TIME}$")
_VTT_BLOCK = re.compile(r"(?:STYLE|REGION)[ \t\f]*$")
_SRT_TIME = r"(\d{1,3}):([0-5]?\d):([0-5]?\d)[,.](\d{1,3})"
_SRT_TIMES = re.compile(rf"\s*{_SRT_TIME}\s*-->\s*{_SRT_TIME}(?!\d)")


@dataclass(frozen=True)
class Cue:
    """Text that is shown from `start_s` up to `end_s`, with its tags, its lines parted by line feeds."""

    start_s: float
    end_s: float
    text: str


def is_vtt(text: str) -> bool:
    """Whether a text begins as WebVTT must; a byte order mark may stand before it."""
    first = text.removeprefix("\ufeff").split("\n", 1)[0]
    return _VTT_SIGNATURE.match(first) is not None


def parse_vtt(text: str) -> list[Cue]:
    r"""Read the cues of WebVTT in the order of the file; `text` has "\n" as its only line end and its signature."""
    lines = text.split("\n")[1:]
    cues: list[Cue] = []
    at = 0
    in_header = bool(lines and lines[0])
    while at < len(lines):
        if not lines[at]:
            at += 1
            continue
        cue, at = _collect_block(lines, at, in_header)
        in_header = False
        if cue is not None:
            cues.append(cue)
    return cues


def _collect_block(lines: Sequence[str], at: int, in_header: bool) -> tuple[Cue | None, int]:
    """Take one block from line `at`: its cue if it is one, and the line after it ("collect a WebVTT block")."""
    times: tuple[float, float] | None = None
    kept: list[str] = []
    seen_arrow = False
    start = at
    while at < len(lines) and lines[at]:
        if _ARROW in lines[at]:
            if in_header or seen_arrow or at - start > 1:
                break
            seen_arrow = True
            times = _times_of(_VTT_TIMES.match(lines[at]))
            kept = []
        else:
            kept.append(lines[at])
            if at == start and _VTT_BLOCK.match(lines[at]) and not _next_has_arrow(lines, at):
                return None, _end_of_block(lines, at)
        at += 1
    return (None if times is None else Cue(*times, "\n".join(kept))), at


def _next_has_arrow(lines: Sequence[str], at: int) -> bool:
    return at + 1 < len(lines) and _ARROW in lines[at + 1]


def _end_of_block(lines: Sequence[str], at: int) -> int:
    while at < len(lines) and lines[at] and _ARROW not in lines[at]:
        at += 1
    return at


def parse_srt(text: str) -> list[Cue]:
    r"""Read the cues of SubRip in the order of the file; a cue goes on to the next time line, over blank lines too."""
    lines = text.removeprefix("\ufeff").split("\n")
    arrows = [number for number, line in enumerate(lines) if _ARROW in line]
    cues = []
    for arrow, following in zip(arrows, [*arrows[1:], None], strict=False):
        times = _times_of(_SRT_TIMES.match(lines[arrow]))
        if times is not None:
            body = lines[arrow + 1 : following]
            if following is not None and body and body[-1].strip().isdigit():
                body = body[:-1]  # the counter of the next cue
            cues.append(Cue(*times, "\n".join(body).strip("\n")))
    return cues


def _times_of(match: re.Match[str] | None) -> tuple[float, float] | None:
    """Start and end of a time line; None where it cannot be read, or ends before it starts and is so never shown."""
    if match is None:
        return None
    groups = match.groups()
    start_s, end_s = _seconds(groups[:4]), _seconds(groups[4:])
    return (start_s, end_s) if end_s > start_s else None


def _seconds(parts: Sequence[str | None]) -> float:
    hours, minutes, seconds, fraction = parts
    whole = int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0)
    return whole + int((fraction or "0").ljust(3, "0")) / 1000


def read_stamp(text: str) -> float | None:
    """Read a WebVTT timestamp as it stands inside a cue; None where it is none."""
    match = _VTT_STAMP.match(text)
    return _seconds(match.groups()) if match else None


def write_vtt(cues: Iterable[tuple[float, float, str]]) -> str:
    """Write (start_s, end_s, text) as a WebVTT file; text is escaped, blank lines in it are closed up.

    Cues that are empty or do not end after their start, to a thousandth, are left out: the standard forbids them.
    """
    blocks = ["WEBVTT"]
    for start_s, end_s, text in cues:
        start_ms, end_ms = round(max(start_s, 0.0) * 1000), round(end_s * 1000)
        body = "\n".join(line.strip() for line in re.split(r"[\r\n]+", text) if line.strip())
        if body and end_ms > start_ms:
            escaped = body.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
            blocks.append(f"{_write_time(start_ms)} {_ARROW} {_write_time(end_ms)}\n{escaped}")
    return "\n\n".join(blocks) + "\n"


def _write_time(milliseconds: int) -> str:
    seconds, fraction = divmod(milliseconds, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{fraction:03d}"
