"""Drafts of models: kept, read again, and harmless when damaged."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from angled import CORNERS, SIZE, photo_at_an_angle
from tubside.errors import ModelError, NotThereError, PhotoError
from tubside.panel.sketch import Sketch
from tubside.service.model_drafts import Drafts

NEW = Sketch(name="Shop One", family="top_load")


def test_kept_and_read(tmp_path: Path) -> None:
    """Tests that a draft comes back as it was left."""
    drafts = Drafts(tmp_path / "drafts")
    name = drafts.begin(NEW)
    changed = msgspec.structs.replace(NEW, display=(0.25, 0.5))
    drafts.keep(name, changed)
    assert drafts.read(name) == changed
    assert drafts.all() == [(name, changed)]
    assert drafts.straight(name) is None


def test_straightened_by_its_corners(tmp_path: Path) -> None:
    """Tests that the shape is as measured, or else as the photo shows it."""
    drafts = Drafts(tmp_path)
    name = drafts.begin(NEW, photo_at_an_angle())
    corners = tuple((x / SIZE[0], y / SIZE[1]) for x, y in CORNERS)
    sketch = msgspec.structs.replace(drafts.read(name), corners=corners)
    drafts.straighten(name, sketch, 2.5)
    assert drafts.read(name).shape == 2.5
    drafts.straighten(name, sketch)
    assert drafts.read(name).shape == pytest.approx(2.1, abs=0.1)
    assert (drafts.straight(name) or b"").startswith(b"\xff\xd8\xff")


def test_a_bad_photo_begins_nothing(tmp_path: Path) -> None:
    """Tests that a draft with a photo that cannot be read is not left behind."""
    with pytest.raises(PhotoError):
        Drafts(tmp_path / "drafts").begin(NEW, b"no photo")
    assert not (tmp_path / "drafts").exists()


@pytest.mark.parametrize("name", ["", "../" + "0" * 29, "0" * 32, "G" * 32])
def test_what_is_not_there(tmp_path: Path, name: str) -> None:
    """Tests that no other file is ever read."""
    with pytest.raises(NotThereError, match="no such draft"):
        Drafts(tmp_path).read(name)


def test_a_damaged_draft_hides_no_other(tmp_path: Path) -> None:
    """Tests that a torn file is told when opened, and left out of the list."""
    drafts = Drafts(tmp_path)
    good, bad = drafts.begin(NEW), drafts.begin(NEW)
    (tmp_path / f"{bad}.json").write_bytes(b'{"name":')
    assert [name for name, _ in drafts.all()] == [good]
    with pytest.raises(ModelError, match="cannot be read"):
        drafts.read(bad)
    with pytest.raises(ModelError, match="not kept"):
        drafts.keep(good, msgspec.structs.replace(NEW, name=""))
    assert drafts.read(good) == NEW
