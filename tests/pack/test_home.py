"""Shipped packs are found by family."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import UnknownNameError
from tubside.pack.home import families, pack_folder, packs_folder


def test_families_are_folders_with_yaml_files(tmp_path: Path) -> None:
    """Tests that a family is a folder that holds YAML files, and names come sorted."""
    for name in ("b_load", "a_load"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "pack.yaml").write_text("", encoding="utf-8")
    (tmp_path / "empty" / "models").mkdir(parents=True)
    (tmp_path / "README.md").write_text("", encoding="utf-8")
    assert families(tmp_path) == ["a_load", "b_load"]
    assert pack_folder("b_load", tmp_path) == tmp_path / "b_load"


def test_an_unknown_family_gets_a_suggestion(tmp_path: Path) -> None:
    """Tests that a misspelt family names the nearest one, and a path is no family."""
    (tmp_path / "top_load").mkdir()
    (tmp_path / "top_load" / "pack.yaml").write_text("", encoding="utf-8")
    with pytest.raises(UnknownNameError, match="did you mean 'top_load'"):
        pack_folder("top-lod", tmp_path)
    with pytest.raises(UnknownNameError):
        pack_folder("../top_load", tmp_path)


def test_the_shipped_folder_exists() -> None:
    """Tests that the folder of shipped packs is found in this installation."""
    assert packs_folder().is_dir()
