"""A shop moves from its file to a server: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    Float,
    LargeBinary,
    Table,
    func,
    insert,
    select,
)

from stores import START, Ticking
from tubside.cli import main
from tubside.errors import StoreError
from tubside.service.data_folder import open_data
from tubside.service.to_server import move_to_server
from tubside.store import to_server
from tubside.store.columns import Cents, UtcDateTime
from tubside.store.content import Content, content_by_table, copy_rows, is_empty
from tubside.store.tables import METADATA

ROWS = 3


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the default folder, kept out of that of whoever tests."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    return tmp_path / "home" / "tubside"


def value(column: Column[Any], row: int) -> object:
    """Return a value for a column: of the row before, where it refers to a row."""
    for key in column.foreign_keys:
        own = key.column.table is column.table
        return value(key.column, row - own) if row >= own else None
    kinds: list[tuple[type, object]] = [
        (UtcDateTime, START.replace(microsecond=row)),
        (Cents, -4500 + row),
        (BigInteger, 2**40 + row),
        (Boolean, bool(row % 2)),
        (Float, 0.1 + row),
        (LargeBinary, bytes([0, 255, row]) * 2000),
    ]
    found = [said for kind, said in kinds if isinstance(column.type, kind)]
    return found[0] if found else f"ö★'\n{column.table.name} {column.name} {row}"


def fill(opened: Connection) -> None:
    """Put some rows into every table there is."""
    for table in METADATA.sorted_tables:
        for row in range(ROWS):
            opened.execute(insert(table).values({c.name: value(c, row) for c in table.columns}))


@pytest.fixture
def shop(tmp_path: Path, clock: Ticking) -> Path:
    """Return the folder of a shop that has something of everything."""
    folder = tmp_path / "shop"
    store = open_data(folder, clock)
    with store.writing() as opened:
        fill(opened)
    store.close()
    for name in ("models", "layers"):
        (folder / name).mkdir()
    (folder / "models" / "own-tern.yaml").write_text("own: model\n", encoding="utf-8")
    (folder / "layers" / "top_load.yaml").write_text("own: change\n", encoding="utf-8")
    return folder


def contents(place: str | Path, clock: Callable[[], datetime]) -> dict[str, Content]:
    """Return what stands in each table."""
    store = open_data(place, clock)
    with store.reading() as opened:
        found = content_by_table(opened)
    store.close()
    return found


def test_every_table_goes_over(
    shop: Path, home: Path, clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that rows of all tables, models and layers are there afterwards, and told."""
    before, address = contents(shop, clock), new_database()
    found = CliRunner().invoke(main, ["move", address, "--data", str(shop)])
    assert found.exit_code == 0, found.output
    assert contents(address, clock) == before == contents(shop, clock)
    for table in METADATA.sorted_tables:
        assert before[table.name].rows == {table.name: ROWS}
        assert table.name in found.output
    assert (home / "models" / "own-tern.yaml").read_text(encoding="utf-8") == "own: model\n"
    assert (home / "layers" / "top_load.yaml").exists()


def test_a_server_that_holds_something_is_refused(
    shop: Path, home: Path, clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that rows that are there are left alone, and no folder is made."""
    address = new_database()
    store = open_data(address, clock)
    settings = METADATA.tables["settings"]
    with store.writing() as opened:
        opened.execute(insert(settings).values(name="there", value="before"))
    store.close()
    before = contents(address, clock)
    with pytest.raises(StoreError, match="not empty"):
        move_to_server(shop, address, clock, lambda *_: None)
    assert contents(address, clock) == before
    assert not (home / "models").exists()


def test_what_breaks_midway_leaves_nothing(
    shop: Path,
    home: Path,
    clock: Ticking,
    new_database: Callable[[], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Tests a move that stops midway, and one whose copy is not equal: then it works again."""
    address = new_database()

    def stop(table: str, _over: int, _rows: int) -> None:
        if table == "photos":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        move_to_server(shop, address, clock, stop)
    copy = copy_rows

    def badly(old: Connection, new: Connection, done: Any) -> None:
        copy(old, new, done)
        new.execute(METADATA.tables["words"].update().values(content="altered"))

    with monkeypatch.context() as patched:
        patched.setattr(to_server, "copy_rows", badly)
        with pytest.raises(StoreError, match="same in words"):
            move_to_server(shop, address, clock, lambda *_: None)
    store = open_data(address, clock)
    with store.reading() as opened:
        assert is_empty(opened)
    store.close()
    assert not (home / "layers").exists()
    over: dict[str, tuple[int, int]] = {}
    move_to_server(
        shop, address, clock, lambda table, done, rows: over.update({table: (done, rows)})
    )
    assert over == {table.name: (ROWS, ROWS) for table in METADATA.sorted_tables}


def test_other_models_are_not_written_over(
    shop: Path, home: Path, clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that models that are in the way stop the move."""
    (home / "models").mkdir(parents=True)
    (home / "models" / "own-tern.yaml").write_text("other: model\n", encoding="utf-8")
    with pytest.raises(StoreError, match="other models are in"):
        move_to_server(shop, new_database(), clock, lambda *_: None)


@pytest.mark.parametrize(
    ("folder", "address", "words"),
    [("nowhere", "postgresql://x/y", "no data in"), ("shop", "sqlite:///x", "no address")],
)
def test_wrong_places_are_told(
    shop: Path, clock: Ticking, folder: str, address: str, words: str
) -> None:
    """Tests a folder without data, and an address that is none of a server."""
    with pytest.raises(StoreError, match=words):
        move_to_server(shop.with_name(folder), address, clock, lambda *_: None)


def test_several_processes_start_on_an_empty_server(
    clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that of programs that open a new database at once one makes the tables."""
    address = new_database()
    with ThreadPoolExecutor(4) as pool:
        stores = list(pool.map(lambda _: open_data(address, clock), range(4)))
    version = Table("alembic_version", METADATA.__class__(), Column("version_num"))
    with stores[0].reading() as opened:
        assert opened.execute(select(func.count()).select_from(version)).scalar() == 1
        assert is_empty(opened)
    for store in stores:
        store.close()
