"""The shop's own models go into a backup with the rest, and come back whole or not at all."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from stores import Ticking
from tubside.errors import StoreError
from tubside.service.backups import Backup, back_up, check_backup, restore
from tubside.service.data_folder import models_folder, open_data
from tubside.store import model_files as taking
from tubside.store import restoring
from tubside.store.backup import seal
from tubside.store.content import content_of
from tubside.store.model_files import Kind, ModelFiles, is_name, models_at, models_in

DRAFT = "drafts/" + "0a" * 16
FILES = {
    "mill-2.yaml": "model: mill-2 # ö\n".encode(),
    "mill-2.jpg": b"\xff\xd8\xff" + bytes(range(256)) * 40,
    f"{DRAFT}.json": b"{}",
    f"{DRAFT}.photo.jpg": b"\xff\xd8\xff photo",
    f"{DRAFT}.straight.jpg": b"\xff\xd8\xff straight",
}
LATER = {"later.yaml": b"model: later\n"}


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the models of a shop on a server out of the data folder of whoever tests."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))


def lay(folder: Path, files: dict[str, bytes]) -> None:
    """Put files into a folder in place of those that are there."""
    shutil.rmtree(folder, ignore_errors=True)
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)


def shop(folder: Path, clock: Ticking, files: dict[str, bytes]) -> Backup:
    """Make a shop with these models, and a backup of it."""
    open_data(folder, clock).close()
    lay(folder / "models", files)
    return back_up(folder, clock)


def write_later(place: str | Path, clock: Ticking) -> None:
    """Write a row into a store after its backup was made."""
    store = open_data(place, clock)
    with store.writing() as opened:
        opened.execute(text("INSERT INTO settings (name, value) VALUES ('later', 'yes')"))
    store.close()


def old_backup(folder: Path, clock: Ticking, file: Path) -> Path:
    """Copy a shop as backups were before they took models along, sealed by its own content."""
    store = open_data(folder, clock)
    with store.reading() as opened:
        number = 1 + int(content_of(opened).digest[:7], 16)
    store.close()
    with (
        closing(sqlite3.connect(folder / "tubside.sqlite")) as source,
        closing(sqlite3.connect(file)) as target,
    ):
        source.backup(target)
    seal(file, number)
    return file


def rewrite(backup: Path, statement: str, *values: object) -> None:
    """Change a backup as somebody might who also takes the number out of its head."""
    with closing(sqlite3.connect(backup)) as opened, opened:
        opened.execute(statement, values)
    seal(backup)


def test_models_come_back_to_the_byte(tmp_path: Path, clock: Ticking) -> None:
    """Tests that models, photos and drafts are in the backup, and the store is as without."""
    made = shop(tmp_path / "data", clock, FILES)
    assert made.models == ModelFiles(FILES)
    assert models_in(made.file) == FILES
    done = restore(made.file, tmp_path / "new", clock)
    assert (done.models, done.old_models) == (FILES, None)
    assert models_at(tmp_path / "new" / "models") == ModelFiles(FILES)
    with closing(sqlite3.connect(tmp_path / "new" / "tubside.sqlite")) as opened:
        tables = {row[0] for row in opened.execute("SELECT name FROM sqlite_master")}
    assert taking.TABLE not in tables
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == [
        "models",
        "tubside.sqlite",
    ]


def test_models_that_are_replaced_are_kept(tmp_path: Path, clock: Ticking) -> None:
    """Tests that other models go aside as a whole folder, a strange file in it too."""
    made = shop(tmp_path, clock, FILES)
    lay(tmp_path / "models", {**LATER, "notes.txt": b"mine"})
    done = restore(made.file, tmp_path, clock)
    assert done.old_models is not None
    assert done.old_models.name.startswith("before-restore-")
    assert models_at(done.old_models) == ModelFiles(LATER, ("notes.txt",))
    assert models_at(tmp_path / "models") == ModelFiles(FILES)


def test_the_same_models_stay_where_they_are(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a folder which holds the same already is not put aside."""
    made = shop(tmp_path, clock, FILES)
    done = restore(made.file, tmp_path, clock)
    assert (done.models, done.old_models) == (FILES, None)
    assert models_at(tmp_path / "models") == ModelFiles(FILES)


def test_a_backup_of_no_models(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a shop that had taught none gets none back, and those of later are kept."""
    made = shop(tmp_path, clock, {})
    assert models_in(made.file) == {}
    lay(tmp_path / "models", LATER)
    done = restore(made.file, tmp_path, clock)
    assert done.old_models is not None
    assert models_at(done.old_models).files == LATER
    assert not (tmp_path / "models").exists()


def test_an_old_backup_leaves_models_alone(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a backup from before models were taken along restores, and touches none."""
    shop(tmp_path, clock, FILES)
    old = old_backup(tmp_path, clock, tmp_path / "old.sqlite")
    content = check_backup(old)
    done = restore(old, tmp_path, clock)
    assert (done.models, done.old_models) == (None, None)
    assert done.old_data is not None
    assert models_at(tmp_path / "models") == ModelFiles(FILES)
    assert check_backup(done.old_data) == content


def test_a_shop_on_a_server(
    tmp_path: Path, clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that models move to this machine's folder with a server's database, and back."""
    made, address = shop(tmp_path / "data", clock, FILES), new_database()
    home = models_folder(address)
    assert home.is_relative_to(tmp_path / "home")
    lay(home, LATER)
    done = restore(made.file, address, clock)
    assert models_at(home) == ModelFiles(FILES)
    assert done.old_models is not None
    assert models_at(done.old_models) == ModelFiles(LATER)
    again = back_up(address, clock, tmp_path / "from-server.sqlite")
    assert (again.content, models_in(again.file)) == (made.content, FILES)
    write_later(address, clock)
    lay(home, LATER)
    with pytest.raises(StoreError, match="not empty"):
        restore(made.file, address, clock)
    assert models_at(home) == ModelFiles(LATER)


@pytest.mark.parametrize("failing", ["models", "tubside.sqlite"])
def test_nothing_is_restored_by_half(
    tmp_path: Path, clock: Ticking, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    """Tests that when a rename fails, database and models are both those of before."""
    made = shop(tmp_path, clock, FILES)
    write_later(tmp_path, clock)
    lay(tmp_path / "models", LATER)
    before, rename = sorted(path.name for path in tmp_path.iterdir()), Path.rename

    def full(path: Path, target: Path) -> Path:
        if path.parent.name.startswith(".restoring-") and target.name == failing:
            raise OSError(28, "No space left on device")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", full)
    with pytest.raises(StoreError, match="No space"):
        restore(made.file, tmp_path, clock)
    monkeypatch.undo()
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert models_at(tmp_path / "models") == ModelFiles(LATER)
    store = open_data(tmp_path, clock)
    with store.reading() as opened:
        assert opened.execute(text("SELECT value FROM settings")).scalar() == "yes"
    store.close()


def test_models_stay_while_data_are_in_use(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a restore that is refused under a running server changes no model."""
    made = shop(tmp_path, clock, FILES)
    lay(tmp_path / "models", LATER)
    store = open_data(tmp_path, clock)
    with store.reading(), pytest.raises(StoreError, match="in use"):
        restore(made.file, tmp_path, clock)
    store.close()
    assert models_at(tmp_path / "models") == ModelFiles(LATER)


def test_a_backup_of_a_newer_program(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a backup this program cannot use is refused before anything is replaced."""
    made = shop(tmp_path, clock, FILES)
    rewrite(made.file, "UPDATE alembic_version SET version_num = '9999'")
    lay(tmp_path / "models", LATER)
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(StoreError, match="newer program"):
        restore(made.file, tmp_path, clock)
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert models_at(tmp_path / "models") == ModelFiles(LATER)


NOT_OURS = [
    "../outside.yaml",
    "/outside.yaml",
    "drafts/../../outside.yaml",
    "drafts/mill-2.yaml",
    f"{DRAFT}.exe",
    "a\\b.yaml",
    "C:mill.yaml",
    ".hidden.yaml",
    "mill-2.yaml\n",
    "mill-2.YAML",
    "mill--2.yaml",
    "mill.2.yaml",
    f"{'a' * 61}.yaml",
    "",
]


@pytest.mark.parametrize("name", NOT_OURS)
def test_a_name_that_leads_elsewhere(tmp_path: Path, clock: Ticking, name: str) -> None:
    """Tests that a backup with a name the program gives to no file is refused whole."""
    assert not is_name(name)
    made = shop(tmp_path / "data", clock, FILES)
    rewrite(made.file, "UPDATE model_files SET name = ? WHERE name = 'mill-2.yaml'", name)
    with pytest.raises(StoreError, match="no file of a model"):
        restore(made.file, tmp_path / "new", clock)
    assert not (tmp_path / "new").exists()


def test_content_that_is_no_file(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a row which holds a text for bytes is refused."""
    made = shop(tmp_path, clock, FILES)
    rewrite(made.file, "UPDATE model_files SET content = 'x' WHERE name = 'mill-2.jpg'")
    with pytest.raises(StoreError, match="no file of a model"):
        check_backup(made.file)


def test_an_altered_letter_of_a_model(tmp_path: Path, clock: Ticking) -> None:
    """Tests that the number in the head covers the models too."""
    made = shop(tmp_path, clock, FILES)
    raw = made.file.read_bytes()
    assert raw.count(b"model: mill-2") == 1
    made.file.write_bytes(raw.replace(b"model: mill-2", b"model: mill-3"))
    with pytest.raises(StoreError, match="altered"):
        restore(made.file, tmp_path / "new", clock)


def test_a_backup_that_lacks_a_model_is_thrown_away(
    tmp_path: Path, clock: Ticking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a copy is compared with the files that were read, and leaves no file."""
    reading = taking.models_in
    monkeypatch.setattr(
        taking, "models_in", lambda file, kind: dict(list((reading(file, kind) or {}).items())[1:])
    )
    with pytest.raises(StoreError, match="thrown away"):
        shop(tmp_path, clock, FILES)
    assert list((tmp_path / "backups").iterdir()) == []


def test_models_that_are_laid_out_wrong(
    tmp_path: Path, clock: Ticking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that files restored are read again before anything is replaced."""
    made = shop(tmp_path, clock, FILES)
    lay(tmp_path / "models", LATER)

    def short(files: dict[str, bytes], folder: Path, kind: Kind) -> None:
        monkeypatch.setattr(taking, "_read", lambda *_: ModelFiles(LATER))
        taking.lay_out(files, folder, kind)

    monkeypatch.setattr(restoring, "lay_out", short)
    with pytest.raises(StoreError, match="nothing was changed"):
        restore(made.file, tmp_path, clock)
    monkeypatch.undo()
    assert models_at(tmp_path / "models") == ModelFiles(LATER)


def test_what_is_no_file_of_a_model_is_told(tmp_path: Path) -> None:
    """Tests that links and strange files are named, not followed, and a cut write passed over."""
    lay(tmp_path / "models", FILES)
    (tmp_path / "secret").write_text("no model")
    (tmp_path / "models" / "link.yaml").symlink_to(tmp_path / "secret")
    (tmp_path / "models" / "other").mkdir()
    (tmp_path / "models" / "My notes.txt").write_text("mine")
    (tmp_path / "models" / ".mill-2.yaml.01234567").write_text("cut sho")
    found = models_at(tmp_path / "models")
    assert found == ModelFiles(FILES, ("My notes.txt", "link.yaml", "other"))


def test_models_changed_all_the_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that two readings must agree, and that it is told when they never do."""
    states = iter([LATER, {}, FILES, FILES])
    monkeypatch.setattr(taking, "_read", lambda *_: ModelFiles(next(states)))
    assert models_at(tmp_path).files == FILES
    numbers = iter(range(100))
    monkeypatch.setattr(taking, "_read", lambda *_: ModelFiles({str(next(numbers)): b""}))
    with pytest.raises(StoreError, match="being changed"):
        models_at(tmp_path)
