"""Photos of panels: made small, bare of everything but the picture, straight, and marked.

Pillow reads and writes them. What a camera writes beside a picture (place, time,
maker) is never copied: only the pixels go into a new JPEG.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

from tubside.errors import PhotoError
from tubside.panel.sketch import MARGIN, WIDTH, WINDOW, Sketch, front_size
from tubside.panel.straightening import shape_of, straightened

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

LONGEST = 1600
"""Pixels along the longer side of a photo that is kept."""
MOST_PIXELS = 50_000_000
STRAIGHT = 792
"""Pixels across a straightened panel."""
QUALITY = 82
INK, PAPER, MARK = (20, 34, 58), (236, 239, 240), (255, 176, 0)


def shrunk(content: bytes) -> bytes:
    """A photo as a JPEG of at most 1600 pixels, upright, with nothing beside the picture.

    Raises
    ------
    PhotoError
        When it is no JPEG, PNG or WebP, damaged, or of more than 50 million pixels.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415  # only pages with photos need it

    try:
        with Image.open(BytesIO(content), formats=["JPEG", "PNG", "WEBP"]) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                msg = "the photo has more than 50 million pixels; send a smaller one"
                raise PhotoError(msg)
            opened.draft("RGB", (LONGEST, LONGEST))
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as wrong:
        msg = "this is no JPEG, PNG or WebP picture that can be read; take it again"
        raise PhotoError(msg) from wrong
    upright.thumbnail((LONGEST, LONGEST))
    return _jpeg(np.asarray(upright, np.uint8))


def straight(photo: bytes, corners: Sequence[tuple[float, float]], shape: float) -> bytes:
    """The panel between four corners (shares of the photo), ``shape`` times as wide as high."""
    pixels = np.asarray(_opened(photo), np.uint8)
    height = max(round(STRAIGHT / shape), 1)
    return _jpeg(straightened(pixels, _in_pixels(pixels, corners), STRAIGHT, height))


def shape_in(photo: bytes, corners: Sequence[tuple[float, float]]) -> float:
    """Width over height of the panel, as the photo shows it."""
    return shape_of(_in_pixels(np.asarray(_opened(photo), np.uint8), corners))


def size_in(photo: bytes) -> tuple[int, int]:
    """Width and height of a photo [pixels]."""
    return _opened(photo).size


def with_corners(photo: bytes, corners: Sequence[tuple[float, float]]) -> bytes:
    """The photo with a cross at every corner tapped."""
    from PIL import ImageDraw  # noqa: PLC0415  # only pages with photos need it

    picture = _opened(photo)
    draw = ImageDraw.Draw(picture)
    arm = max(picture.width // 26, 6)
    for across, down in corners:
        x, y = across * picture.width, down * picture.height
        for width, colour in ((arm // 3, INK), (max(arm // 7, 2), MARK)):
            draw.line([(x - arm, y), (x + arm, y)], colour, width)
            draw.line([(x, y - arm), (x, y + arm)], colour, width)
    return _jpeg(np.asarray(picture, np.uint8))


def board(sketch: Sketch, photo: bytes | None) -> bytes:
    """What lamps are tapped on: the straightened photo or a blank front, with those there."""
    from PIL import Image, ImageDraw, ImageFont  # noqa: PLC0415  # only these pages need it

    _, front = front_size(sketch.shape)
    height = max(round(STRAIGHT * (front - 2 * MARGIN) / WIDTH), 1)
    picture = (
        Image.new("RGB", (STRAIGHT, height), PAPER)
        if photo is None
        else _opened(photo).resize((STRAIGHT, height))
    )
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 0, STRAIGHT - 1, height - 1), outline=INK, width=4)
    scale = STRAIGHT / WIDTH
    if sketch.display is not None:
        x, y = sketch.display[0] * STRAIGHT, sketch.display[1] * height
        across, down = (side * scale / 2 for side in WINDOW)
        draw.rectangle((x - across, y - down, x + across, y + down), outline=INK, width=8)
    letters = ImageFont.load_default(34)
    for lamp in sketch.lamps:
        x, y, r = lamp.x * STRAIGHT, lamp.y * height, 20
        draw.ellipse((x - r, y - r, x + r, y + r), fill=MARK, outline=INK, width=6)
        draw.text((x, y), lamp.label[:8], INK, letters, "mm", stroke_width=4, stroke_fill=PAPER)
    return _jpeg(np.asarray(picture, np.uint8))


def _in_pixels(
    pixels: np.ndarray, corners: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    rows, columns = pixels.shape[:2]
    return [(across * columns, down * rows) for across, down in corners]


def _opened(photo: bytes) -> Picture:
    """One of our own photos; anything else is refused."""
    from PIL import Image  # noqa: PLC0415  # only pages with photos need it

    try:
        with Image.open(BytesIO(photo), formats=["JPEG"]) as opened:
            return opened.convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as wrong:
        msg = "the kept photo cannot be read any more; take it again"
        raise PhotoError(msg) from wrong


def _jpeg(pixels: np.ndarray) -> bytes:
    """A new picture of these pixels and of nothing else."""
    from PIL import Image  # noqa: PLC0415  # only pages with photos need it

    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
