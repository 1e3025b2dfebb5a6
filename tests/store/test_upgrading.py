"""From an empty place to today's tables, and what is refused on the way."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text

from stores import Ticking
from tubside.errors import StoreError
from tubside.service.data_folder import open_data
from tubside.store import upgrading, versions
from tubside.store.model_files import models_in
from tubside.store.opening import Store
from tubside.store.tables import METADATA
from tubside.store.versions import newest


def test_migrations_make_the_tables(store: Store) -> None:
    """Tests that an empty database, migrated, has the tables as they are declared."""
    with store.reading() as opened:
        context = MigrationContext.configure(opened, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []
        assert context.get_current_revision() == newest()


def test_versions_are_those_that_alembic_sees() -> None:
    """Tests the chain as read from the steps' own lines, by which a start saves loading it."""
    seen = {one.revision: one.down_revision for one in versions._scripts().walk_revisions()}
    assert versions._chain() == seen
    assert newest() == versions._scripts().get_current_head()


def test_opening_again_changes_nothing(store: Store, place: str | Path, clock: Ticking) -> None:
    """Tests that a database that is up to date is left alone, and not backed up."""
    with store.writing() as opened:
        opened.execute(text("INSERT INTO settings (name, value) VALUES ('here', 'yes')"))
    again = open_data(place, clock)
    with again.reading() as opened:
        assert opened.execute(text("SELECT value FROM settings")).scalar() == "yes"
    again.close()
    if isinstance(place, Path):
        assert not (place / "backups").exists()


def test_a_backup_comes_before_a_migration(
    tmp_path: Path, clock: Ticking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a database of an older version is copied before it is changed, models too."""
    open_data(tmp_path, clock).close()
    (tmp_path / "models").mkdir()
    (tmp_path / "models" / "mill-2.yaml").write_bytes(b"model: mill-2\n")
    steps: list[list[str]] = []

    def later(_: object) -> None:
        steps.append([p.name.split("-2026")[0] for p in (tmp_path / "backups").iterdir()])

    monkeypatch.setattr(upgrading, "newest", lambda: "a later one")
    monkeypatch.setattr(upgrading, "migrate", later)
    open_data(tmp_path, clock).close()
    assert steps == [["before-migration"]]
    (copy,) = (tmp_path / "backups").iterdir()
    assert models_in(copy) == {"mill-2.yaml": b"model: mill-2\n"}


def test_a_newer_database_is_refused(store: Store, place: str | Path, clock: Ticking) -> None:
    """Tests that an older program does not write into what it does not know."""
    with store.writing() as opened:
        opened.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match="newer program"):
        open_data(place, clock)


def test_another_programs_database_is_refused(tmp_path: Path, clock: Ticking) -> None:
    """Tests that tables of something else are left alone."""
    with sqlite3.connect(tmp_path / "tubside.sqlite") as opened:
        opened.execute("CREATE TABLE birds (name TEXT)")
    opened.close()
    with pytest.raises(StoreError, match="something else"):
        open_data(tmp_path, clock)


def test_what_is_no_database_is_refused(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a file of something else gets a plain answer."""
    (tmp_path / "tubside.sqlite").write_bytes(b"not a database at all, but long enough" * 40)
    with pytest.raises(StoreError, match="cannot be used"):
        open_data(tmp_path, clock)


@pytest.mark.parametrize("address", ["mysql://x/y", "postgresql://:", "postgresql://127.0.0.1:1/x"])
def test_an_address_that_leads_nowhere(address: str, clock: Ticking) -> None:
    """Tests that an address of another kind, or of no server, gets a plain answer."""
    with pytest.raises(StoreError):
        open_data(address, clock)


def test_writers_wait_for_each_other(store: Store) -> None:
    """Tests that numbers allotted by many writers at once are all different."""

    def take(_: int) -> int:
        with store.writing() as opened:
            row = opened.execute(text("SELECT value FROM settings WHERE name = 'n'")).scalar()
            number = int(row or 0) + 1
            opened.execute(text("DELETE FROM settings WHERE name = 'n'"))
            opened.execute(
                text("INSERT INTO settings (name, value) VALUES ('n', :n)"), {"n": str(number)}
            )
        return number

    with ThreadPoolExecutor(6) as pool:
        assert sorted(pool.map(take, range(24))) == list(range(1, 25))
