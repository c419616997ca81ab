"""Title, caption and labels, set over a rendered picture."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from splitplanner.output.scene import INK, PAPER, Label, Scene

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

_GREY = "#4A4F55"


def lettered_png(scene: Scene, pixels: NDArray[np.uint8]) -> bytes:
    """Return a PNG of rendered `pixels` (height, width, 3) with the texts of `scene`.

    It holds no date, so equal pictures are equal files.
    """
    from PIL import Image, ImageDraw

    image = Image.fromarray(pixels)
    pen = ImageDraw.Draw(image)
    _heading(pen, scene)
    places = _spread(scene)
    for _, at, anchor in places:
        if np.hypot(*(at - anchor)) > scene.text_height:
            pen.line([tuple(anchor), tuple(at)], fill=INK, width=2)
    for label, at, _ in places:
        if label.round:
            _disc(pen, label, at, scene.text_height)
        else:
            _plate(pen, label, at, scene.text_height)
    stream = io.BytesIO()
    image.save(stream, format="PNG", compress_level=6)
    return stream.getvalue()


def _heading(pen: ImageDraw, scene: Scene) -> None:
    from PIL import ImageFont

    height = scene.text_height
    left, top = height, 0.7 * height
    pen.text((left, top), scene.title, fill=INK, font=ImageFont.load_default(height))
    top += 1.4 * height
    small = ImageFont.load_default(0.8 * height)
    for line in scene.caption:
        pen.text((left, top), line, fill=_GREY, font=small)
        top += 1.25 * height


def _half_size(label: Label, height: int) -> tuple[float, float]:
    """Return half the width and height of a label, pixels."""
    from PIL import ImageFont

    if label.round:
        radius = height * (0.72 if len(label.text) < 2 else 0.6 + 0.16 * len(label.text))
        return radius, radius
    wide = ImageFont.load_default(0.7 * height).getlength(label.text)
    return wide / 2 + 0.35 * height, 0.52 * height


def _spread(scene: Scene) -> list[tuple[Label, NDArray[np.float64], NDArray[np.float64]]]:
    """Return each label with where it goes and where its point is, pixels.

    Labels that would cover each other are pushed apart a little at a time.
    """
    if not scene.labels:
        return []
    height = scene.text_height
    anchors = scene.camera.pixels([label.at for label in scene.labels])
    halves = np.array([_half_size(label, height) for label in scene.labels])
    at = anchors.copy()
    low = halves + np.array([4.0, 4.0 + scene.head])
    high = np.array(scene.size) - halves - 4.0
    for _ in range(200):
        moved = False
        for i in range(len(at)):
            for j in range(i):
                gap = at[i] - at[j]
                over = halves[i] + halves[j] + 3.0 - np.abs(gap)
                if (over > 0).all():
                    axis = int(np.argmin(over))
                    push = (over[axis] / 2 + 0.5) * (1.0 if gap[axis] >= 0 else -1.0)
                    at[i, axis] += push
                    at[j, axis] -= push
                    moved = True
        at = np.clip(at, low, np.maximum(low, high))
        if not moved:
            break
    return list(zip(scene.labels, at, anchors, strict=True))


def _disc(pen: ImageDraw, label: Label, at: NDArray[np.float64], height: int) -> None:
    from PIL import ImageFont

    radius, _ = _half_size(label, height)
    x, y = at
    ring = max(3, round(height / 7))
    box = (x - radius, y - radius, x + radius, y + radius)
    pen.ellipse(_grown(box, 1.5), fill=INK)
    pen.ellipse(box, fill=PAPER, outline=label.colour, width=ring)
    font = ImageFont.load_default(0.9 * height)
    pen.text((x, y), label.text, fill=INK, font=font, anchor="mm")


def _plate(pen: ImageDraw, label: Label, at: NDArray[np.float64], height: int) -> None:
    from PIL import ImageFont

    wide, tall = _half_size(label, height)
    x, y = at
    box = (x - wide, y - tall, x + wide, y + tall)
    pen.rounded_rectangle(box, radius=0.3 * height, fill=PAPER, outline=label.colour, width=2)
    font = ImageFont.load_default(0.7 * height)
    pen.text((x, y), label.text, fill=INK, font=font, anchor="mm")


def _grown(box: tuple[float, float, float, float], by: float) -> tuple[float, float, float, float]:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)
