"""The shop's own changes on packs go into a backup beside its models, and come back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stores import Ticking
from tubside.errors import StoreError
from tubside.service.backups import Backup, back_up, restore
from tubside.service.data_folder import layers_folder, open_data
from tubside.store.backup import seal
from tubside.store.model_files import LAYER, ModelFiles, is_name, models_at, models_in

FILES = {"top_load.yaml": b"family: top_load\n", "dryer.yaml": "# ö\n".encode()}
LATER = {"front_load.yaml": b"later\n"}


def lay(folder: Path, files: dict[str, bytes]) -> None:
    """Put layers into a shop's folder in place of those that are there."""
    place = layers_folder(folder)
    place.mkdir(parents=True, exist_ok=True)
    for old in place.iterdir():
        old.unlink()
    for name, content in files.items():
        (place / name).write_bytes(content)


def shop(folder: Path, clock: Ticking) -> Backup:
    """Make a shop with layers and a model, and a backup of it."""
    open_data(folder, clock).close()
    lay(folder, FILES)
    (folder / "models").mkdir()
    (folder / "models" / "mill-2.yaml").write_bytes(b"model: mill-2\n")
    return back_up(folder, clock)


def test_layers_come_back_to_the_byte(tmp_path: Path, clock: Ticking) -> None:
    """Tests that layers are in the backup beside models, and the store is as without."""
    made = shop(tmp_path / "data", clock)
    assert made.layers == ModelFiles(FILES)
    assert models_in(made.file, LAYER) == FILES
    done = restore(made.file, tmp_path / "new", clock)
    assert (done.layers, done.old_layers) == (FILES, None)
    assert models_at(layers_folder(tmp_path / "new"), LAYER) == ModelFiles(FILES)
    names = sorted(path.name for path in (tmp_path / "new").iterdir())
    assert names == ["layers", "models", "tubside.sqlite"]


def test_layers_that_are_replaced_are_kept(tmp_path: Path, clock: Ticking) -> None:
    """Tests that other layers go aside as a folder, while equal models stay."""
    made = shop(tmp_path, clock)
    lay(tmp_path, LATER)
    done = restore(made.file, tmp_path, clock)
    assert done.old_models is None
    assert done.old_layers is not None
    assert models_at(done.old_layers, LAYER) == ModelFiles(LATER)
    assert models_at(layers_folder(tmp_path), LAYER) == ModelFiles(FILES)


def test_a_backup_of_before_leaves_layers_alone(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a backup made when there were no layers yet restores, and touches none."""
    made = shop(tmp_path, clock)
    with closing(sqlite3.connect(made.file)) as opened, opened:
        opened.execute("DROP TABLE layer_files")
    seal(made.file)
    lay(tmp_path, LATER)
    done = restore(made.file, tmp_path, clock)
    assert (done.layers, done.old_layers) == (None, None)
    assert models_at(layers_folder(tmp_path), LAYER) == ModelFiles(LATER)


@pytest.mark.parametrize("name", ["../x.yaml", "top-load.yaml", "a.jpg", "drafts/a.yaml", "A.yaml"])
def test_a_name_that_is_no_family(tmp_path: Path, clock: Ticking, name: str) -> None:
    """Tests that a backup with such a name is refused whole."""
    assert not is_name(name, LAYER)
    made = shop(tmp_path / "data", clock)
    with closing(sqlite3.connect(made.file)) as opened, opened:
        opened.execute("UPDATE layer_files SET name = ? WHERE name = 'dryer.yaml'", [name])
    seal(made.file)
    with pytest.raises(StoreError, match="no file of a layer"):
        restore(made.file, tmp_path / "new", clock)
    assert not (tmp_path / "new").exists()
