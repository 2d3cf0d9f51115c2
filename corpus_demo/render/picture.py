"""Draws the frames of a recording: a machine front whose lamps blink with its tones, and a running clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from corpus_demo.render.machines import Front, front_of
from corpus_demo.render.script import Picture
from corpus_demo.render.timings import FRAMES_PER_S

Frame = NDArray[np.uint8]
LANDSCAPE = (320, 180)
PORTRAIT = (180, 320)
_STRIP = 20
"""Height of the strip with the clock, in pixels."""
_MOST_FLASHES = 3
"""Flashes allowed in any one second: WCAG 2.2, success criterion 2.3.1."""
_SHADES = {"panel": (58, 62, 70), "dark": (40, 42, 46), "glass": (84, 98, 112), "edge": (168, 172, 178)}
_BODIES = ((226, 228, 230), (206, 208, 212), (236, 232, 222), (190, 194, 200))
_WALLS = ((196, 186, 170), (176, 190, 196), (188, 196, 180), (200, 192, 196))
_LIT = ((255, 176, 40), (90, 235, 110), (255, 84, 70), (120, 190, 255))
_UNLIT = (92, 88, 84)


class FlashError(ValueError):
    """The lamps would flash more often than is safe to watch."""


@dataclass(frozen=True)
class Scene:
    """One recording's view.

    Attributes:
        picture: What the script asks for.
        size: Width and height of the frame in pixels.
        seed: Chooses the colours and the place of the machine.
    """

    picture: Picture
    size: tuple[int, int]
    seed: int

    @property
    def box(self) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of the machine in the frame, in pixels."""
        wide, high = self.size[0], self.size[1] - _STRIP
        ratio = front_of(self.picture.machine).ratio
        height = round(min(high * 0.86, wide * 0.86 / ratio))
        width = round(height * ratio)
        left = round((wide - width) * (0.4 + 0.2 * (self.seed % 97) / 96))
        return left, high - height - 6, left + width, high - 6


def check_flashes(lit: list[bool]) -> None:
    """Refuse lamp patterns that flash more than three times in any one second.

    Args:
        lit: For each frame, whether the lamps are lit.

    Raises:
        FlashError: Some second holds more than three rises of the lamps.
    """
    rises = [frame for frame, now in enumerate(lit) if now and (frame == 0 or not lit[frame - 1])]
    for first, fourth in zip(rises, rises[_MOST_FLASHES:], strict=False):
        if fourth - first <= FRAMES_PER_S:
            raise FlashError(f"more than {_MOST_FLASHES} flashes in the second from {first / FRAMES_PER_S:.1f} s")


def frames(scene: Scene, lit: list[bool]) -> Iterator[Frame]:
    """Draw every frame of a recording.

    Args:
        scene: The view.
        lit: For each frame, whether the blinking lamps are lit.

    Yields:
        Frames of shape (height, width, 3), RGB.

    Raises:
        FlashError: See `check_flashes`.
    """
    if scene.picture.blink != "none":
        check_flashes(lit)
    views = {state: _drawn(scene, state) for state in (False, True)}
    font = ImageFont.load_default(size=13)
    for number, state in enumerate(lit):
        view = views[state and scene.picture.blink != "none"].copy()
        second = number // FRAMES_PER_S
        clock = f"{second // 60:02}:{second % 60:02}"
        ImageDraw.Draw(view).text((8, scene.size[1] - _STRIP + 2), clock, fill=(230, 230, 230), font=font)
        yield np.asarray(view, dtype=np.uint8)


def _drawn(scene: Scene, lit: bool) -> Image.Image:
    """Wall, floor, machine, lamps and the empty strip."""
    wide, high = scene.size
    left, top, right, bottom = scene.box
    view = Image.new("RGB", scene.size, _WALLS[scene.seed % len(_WALLS)])
    pen = ImageDraw.Draw(view)
    pen.rectangle((0, bottom - 8, wide, high), fill=(128, 118, 108))
    pen.rectangle((left, top, right, bottom), fill=_BODIES[scene.seed // 7 % len(_BODIES)], outline=(90, 92, 96))
    front = front_of(scene.picture.machine)
    for form, x0, y0, x1, y1, shade in front.shapes:
        corners = (*_at(scene, x0, y0), *_at(scene, x1, y1))
        if form == "line":
            pen.line(corners, fill=_SHADES[shade], width=2)
        else:
            (pen.ellipse if form == "oval" else pen.rectangle)(corners, fill=_SHADES[shade])
    _draw_lamps(pen, scene, front, lit)
    pen.rectangle((0, high - _STRIP, wide, high), fill=(24, 24, 26))
    return view


def _draw_lamps(pen: ImageDraw.ImageDraw, scene: Scene, front: Front, lit: bool) -> None:
    count = scene.picture.lamps
    start, height, end = front.lamps
    radius = max(2.0, min(4.5, (end - start) * (scene.box[2] - scene.box[0]) / (2.6 * max(count, 1))))
    blinking = range(count) if scene.picture.blink == "all" else (scene.seed % max(count, 1),)
    for lamp in range(count):
        across = start + (end - start) * (lamp + 0.5) / count
        x, y = _at(scene, across, height)
        fill = _LIT[scene.seed // 5 % len(_LIT)] if lit and lamp in blinking else _UNLIT
        pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=fill, outline=(20, 20, 20))


def _at(scene: Scene, x: float, y: float) -> tuple[float, float]:
    """Pixel place of a point of the machine's box."""
    left, top, right, bottom = scene.box
    return left + x * (right - left), top + y * (bottom - top)
