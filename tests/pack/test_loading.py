"""Tests of keeping a compiled pack by what its files hold."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tubside.pack import loading, reading
from tubside.pack.loading import default_place, load_pack


def no_reading(folder: Path) -> None:
    """Stand in for reading a pack where that must not happen."""
    msg = f"{folder} was read again"
    raise AssertionError(msg)


def test_second_load_reads_nothing(
    small_pack_copy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that an unchanged pack is taken from what was kept, with the same numbers."""
    first = load_pack(small_pack_copy, tmp_path / "kept")
    monkeypatch.setattr(reading, "read_pack", no_reading)
    again = load_pack(small_pack_copy, tmp_path / "kept")
    assert again.pack == first.pack
    assert np.array_equal(again.model.prior.odds, first.model.prior.odds)
    assert np.array_equal(again.model.complaint.fit, first.model.complaint.fit)
    assert again.model.digest == first.model.digest


def test_changed_pack_is_compiled_again(small_pack_copy: Path, tmp_path: Path) -> None:
    """Tests that another weight gives another digest and another model."""
    first = load_pack(small_pack_copy, tmp_path / "kept")
    file = small_pack_copy / "water.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("weight: 120", "weight: 130"), encoding="utf-8")
    changed = load_pack(small_pack_copy, tmp_path / "kept")
    assert changed.model.digest != first.model.digest
    assert changed.pack.causes["tap-closed"].weight == 130
    tap = first.model.names.causes.index("tap-closed")
    assert changed.model.prior.odds[tap] > first.model.prior.odds[tap]
    assert len(list((tmp_path / "kept").iterdir())) == 2


@pytest.mark.parametrize("rubbish", [b"", b"\x00\xff\xfe", b"\x93\x01\x02\x03"])
def test_what_cannot_be_read_is_made_again(
    small_pack_copy: Path, tmp_path: Path, rubbish: bytes
) -> None:
    """Tests that a broken kept file is replaced by a good one."""
    first = load_pack(small_pack_copy, tmp_path / "kept")
    (kept,) = (tmp_path / "kept").iterdir()
    whole = kept.read_bytes()
    kept.write_bytes(rubbish)
    again = load_pack(small_pack_copy, tmp_path / "kept")
    assert np.array_equal(again.model.prior.odds, first.model.prior.odds)
    assert kept.read_bytes() == whole


def test_new_form_does_not_use_what_was_kept(
    small_pack_copy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a change of how things are solved leaves old files alone."""
    load_pack(small_pack_copy, tmp_path / "kept")
    monkeypatch.setattr(loading, "FORM", "of tomorrow")
    load_pack(small_pack_copy, tmp_path / "kept")
    assert len(list((tmp_path / "kept").iterdir())) == 2


def test_place_that_cannot_be_written_is_no_error(small_pack_copy: Path, tmp_path: Path) -> None:
    """Tests that a pack loads where nothing can be kept: here a file is in the way."""
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    loaded = load_pack(small_pack_copy, tmp_path / "file" / "kept")
    assert loaded.model.n_causes == 10


def test_default_place_follows_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests the folder for things that can be made again, stated or not."""
    monkeypatch.setenv("XDG_CACHE_HOME", "somewhere")
    assert default_place() == Path("somewhere") / "tubside"
    monkeypatch.delenv("XDG_CACHE_HOME")
    assert default_place() == Path.home() / ".cache" / "tubside"
