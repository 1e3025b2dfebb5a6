"""The shop's photo of a model in its guide: small, bare of where it was taken, and shown."""

from __future__ import annotations

import re
from base64 import b64decode
from io import BytesIO
from pathlib import Path

import msgspec
import numpy as np
import pytest
from PIL import Image

from guides import faults, small_library
from tubside.errors import GuideError
from tubside.guide.building import Front, build
from tubside.guide.photographs import ACROSS, LARGEST, page_photo
from tubside.panel.schema import Panel
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of
from tubside.service.library import Library
from tubside.service.shop_models import ShopModels

PLACE = 0x8825
"""The part of a picture's data that holds where it was taken (Exif 2.32, tag GPSInfo)."""


def camera_photo(width: int = 792, height: int = 264) -> bytes:
    """A photo that is hard to make small, as a camera writes it: with its place and time."""
    noise = np.random.default_rng(4).integers(0, 256, (height, width, 3), np.uint8)
    beside = Image.Exif()
    beside[PLACE] = {1: "S", 2: (41.0, 17.0, 9.0), 3: "E", 4: (174.0, 46.0, 4.0)}
    beside[0x010F] = "A maker"
    out = BytesIO()
    Image.fromarray(noise).save(out, "JPEG", quality=95, exif=beside)
    assert b"Exif" in out.getvalue()
    return out.getvalue()


def bare(photo: bytes) -> bool:
    """Whether a JPEG has nothing beside its pixels."""
    with Image.open(BytesIO(photo)) as opened:
        return not opened.getexif() and b"Exif" not in photo and b"A maker" not in photo


def taught(name: str) -> Panel:
    """A model of the small family, taught from a photo."""
    lamps = (SketchLamp(label="a", x=0.2, y=0.5), SketchLamp(label="b", x=0.8, y=0.5))
    it = SketchIndication(lamps={"0": "flashing", "1": "steady"}, conditions=["wont_drain"])
    sketch = Sketch(name=name, family="small_pack", photo=True, lamps=lamps, indications=(it,))
    return panel_of(sketch)


def test_small_and_bare(tmp_path: Path) -> None:
    """Tests that a photo put there by hand loses its place, and any photo fits a page."""
    (tmp_path / "mine.jpg").write_bytes(camera_photo(2400, 1800))
    photo = page_photo(tmp_path, "mine")
    assert photo is not None
    assert len(photo) <= LARGEST
    assert bare(photo)
    with Image.open(BytesIO(photo)) as opened:
        assert opened.width <= ACROSS
    assert page_photo(tmp_path, "other") is None
    assert page_photo(None, "mine") is None


def test_a_plain_photo_keeps_its_size(tmp_path: Path) -> None:
    """Tests that a photo that is small already is not made coarse."""
    flat = Image.new("RGB", (400, 200), (20, 160, 60))
    flat.save(tmp_path / "mine.jpg", "JPEG")
    photo = page_photo(tmp_path, "mine")
    assert photo is not None
    with Image.open(BytesIO(photo)) as opened:
        assert opened.size == flat.size


def test_what_is_no_photo_is_told_by_its_model(tmp_path: Path) -> None:
    """Tests that a damaged file names its model."""
    (tmp_path / "mine.jpg").write_bytes(b"no picture")
    with pytest.raises(GuideError, match="'mine' cannot be used"):
        page_photo(tmp_path, "mine")


@pytest.fixture(scope="module")
def guide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide of a shop that taught one model from a photo, and one without."""
    folder = tmp_path_factory.mktemp("guide")
    small = small_library(folder / "packs")
    models = ShopModels(folder / "models", small.packs)
    first = taught("First own")
    models.keep(first, camera_photo())
    models.keep(msgspec.structs.replace(first, model="second-own", name="Second own"))
    build(folder / "out", Library(small.packs, models.folder), Front("A shop"))
    return folder / "out"


def test_the_guide_shows_it(guide: Path) -> None:
    """Tests the photo on the start, on its model's page, and under the lamps of an answer."""
    assert faults(guide) == []
    name = "machine-first-own"
    assert f'src="{name}-photo.jpg"' in (guide / "index.html").read_text("utf-8")
    assert f'src="{name}-photo.jpg"' in (guide / f"{name}.html").read_text("utf-8")
    (answer,) = guide.glob(f"{name}-*.html")
    assert answer.read_text("utf-8").count("-photo-moving.svg") == 1
    assert not list(guide.glob("machine-second-own*photo*"))


def test_no_file_of_the_guide_tells_a_place(guide: Path) -> None:
    """Tests every picture of the guide, also those inside drawings."""
    photos = [one.read_bytes() for one in guide.glob("*.jpg")]
    for one in guide.glob("*.svg"):
        inside = re.findall(r"data:image/jpeg;base64,([^\"]+)", one.read_text("utf-8"))
        photos += [b64decode(text) for text in inside]
    assert len(photos) == 3
    assert all(bare(one) for one in photos)
