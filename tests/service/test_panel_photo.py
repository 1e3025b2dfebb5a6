"""Photos of panels: small, bare, straight; and what is no photo."""

from __future__ import annotations

from io import BytesIO
from zlib import crc32

import numpy as np
import pytest
from PIL import Image

from angled import CORNERS, LAMPS, SIZE, photo_at_an_angle
from tubside.errors import PhotoError
from tubside.panel.sketch import Sketch, SketchLamp
from tubside.service import panel_photo

SHARES = [(x / SIZE[0], y / SIZE[1]) for x, y in CORNERS]


def test_nothing_but_the_picture_is_kept() -> None:
    """Tests that place, notes and comments of the camera are gone, and the picture is not."""
    taken = photo_at_an_angle(with_place=True)
    assert b"SECRET" in taken
    assert Image.open(BytesIO(taken)).getexif()
    kept = panel_photo.shrunk(taken)
    assert b"SECRET" not in kept
    assert b"Exif" not in kept
    with Image.open(BytesIO(kept)) as picture:
        assert not picture.getexif()
        assert "comment" not in picture.info
        assert picture.size == SIZE


@pytest.mark.parametrize(("form", "size"), [("PNG", (4000, 300)), ("WEBP", (300, 2000))])
def test_large_pictures_are_made_small(form: str, size: tuple[int, int]) -> None:
    """Tests that the longer side is at most 1600 pixels, and the shape stays."""
    out = BytesIO()
    Image.new("RGBA", size, (3, 5, 7, 9)).save(out, form)
    width, height = panel_photo.size_in(panel_photo.shrunk(out.getvalue()))
    assert max(width, height) == 1600
    assert width / height == pytest.approx(size[0] / size[1], rel=0.01)


def test_a_photo_taken_sideways_stands_upright() -> None:
    """Tests that the turn a camera writes beside a picture is done before it is dropped."""
    exif = Image.Exif()
    exif[0x0112] = 6
    out = BytesIO()
    Image.new("RGB", (60, 20)).save(out, "JPEG", exif=exif)
    assert panel_photo.size_in(panel_photo.shrunk(out.getvalue())) == (20, 60)


def header_of(width: int, height: int) -> bytes:
    """A PNG that says it is of any size and holds nothing of it."""
    out = BytesIO()
    Image.new("1", (1, 1)).save(out, "PNG")
    content = bytearray(out.getvalue())
    content[16:24] = width.to_bytes(4, "big") + height.to_bytes(4, "big")
    crc = crc32(content[12:29])
    content[29:33] = crc.to_bytes(4, "big")
    return bytes(content)


@pytest.mark.parametrize(
    "content",
    [b"", b"GIF89a", b"<svg/>", photo_at_an_angle()[:3000], header_of(9000, 9000)],
    ids=["nothing", "gif", "svg", "cut off", "too many pixels"],
)
def test_what_is_no_photo_is_refused(content: bytes) -> None:
    """Tests that other kinds, damaged and far too large pictures are told plainly."""
    with pytest.raises(PhotoError):
        panel_photo.shrunk(content)


def test_lamps_stand_where_they_are_after_straightening() -> None:
    """Tests the whole way through JPEG: error under 2 % of the panel's width (the task's)."""
    wide = 40 / 18
    flat = panel_photo.straight(panel_photo.shrunk(photo_at_an_angle()), SHARES, wide)
    pixels = np.asarray(Image.open(BytesIO(flat)), int)
    rows, columns = np.nonzero((pixels[..., 0] > 150) & (pixels[..., 1] < 110))
    seen = np.column_stack([(columns + 0.5) / pixels.shape[1], (rows + 0.5) / pixels.shape[0]])
    scale = np.array([1, 1 / wide])
    for lamp in LAMPS:
        near = seen[np.linalg.norm((seen - lamp) * scale, axis=1) < 0.05]
        assert len(near) > 100
        assert np.linalg.norm((near.mean(axis=0) - lamp) * scale) < 0.02


def test_what_is_tapped_shows_what_was_tapped() -> None:
    """Tests that corners and lamps are marked on the pictures, and only there."""
    photo = panel_photo.shrunk(photo_at_an_angle())
    marked = np.asarray(Image.open(BytesIO(panel_photo.with_corners(photo, SHARES[:1]))), int)
    x, y = CORNERS[0]
    assert marked[y, x, 0] > 200
    assert marked[y, x, 2] < 90
    sketch = Sketch(name="a", family="top_load", lamps=(SketchLamp(label="1", x=0.5, y=0.5),))
    blank = np.asarray(Image.open(BytesIO(panel_photo.board(sketch, None))), int)
    middle, side = blank.shape[0] // 2, blank.shape[1] // 2
    assert blank[middle, side + 15, 2] < 120
    assert blank[middle, side + 200].min() > 220
