"""A photo of a six-lamp panel taken at an angle, drawn by numbers, for the tests."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from PIL import Image

CORNERS = ((150, 230), (1090, 130), (1050, 560), (190, 640))
"""Top left, top right, bottom right, bottom left of the panel [pixels of 1200 x 800]."""
LAMPS = ((0.12, 0.35), (0.28, 0.35), (0.44, 0.35), (0.60, 0.35), (0.76, 0.35), (0.90, 0.70))
"""Where the lamps are, as shares of the panel's width and height."""
SIZE = (1200, 800)


def square_to_photo() -> np.ndarray:
    """The matrix from the unit square to the photo, by solving the eight equations."""
    rows, right = [], []
    for (x, y), (u, v) in zip(((0, 0), (1, 0), (1, 1), (0, 1)), CORNERS, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows, float), np.array(right, float)), 1).reshape(
        3, 3
    )


def lamp_places() -> list[tuple[float, float]]:
    """Where the lamps are in the photo [pixels]."""
    lifted = np.column_stack([LAMPS, np.ones(6)]) @ square_to_photo().T
    return [(float(x / w), float(y / w)) for x, y, w in lifted]


def photo_at_an_angle(*, with_place: bool = False) -> bytes:
    """The photo as JPEG; ``with_place`` adds what a camera writes of where it was taken."""
    width, height = SIZE
    down, across = np.mgrid[0:height, 0:width] + 0.5
    lifted = np.column_stack([across.ravel(), down.ravel(), np.ones(width * height)])
    flat = lifted @ np.linalg.inv(square_to_photo()).T
    flat = flat[:, :2] / flat[:, 2:]
    pixels = np.full((width * height, 3), (96, 104, 108), np.uint8)
    inside = ((flat > 0) & (flat < 1)).all(axis=1)
    pixels[inside] = (228, 230, 226)
    for lamp in LAMPS:
        near = ((flat - lamp) * (1, 0.45) / 0.022) ** 2
        pixels[inside & (near.sum(axis=1) < 1)] = (190, 40, 24)
    picture = Image.fromarray(pixels.reshape(height, width, 3))
    out = BytesIO()
    if with_place:
        exif = Image.Exif()
        exif[0x010E] = "SECRET-NOTE"
        exif.get_ifd(0x8825)[1] = "N"
        picture.save(out, "JPEG", quality=90, exif=exif, comment=b"SECRET-COMMENT")
    else:
        picture.save(out, "JPEG", quality=90)
    return out.getvalue()
