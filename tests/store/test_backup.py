"""A backup is checked after writing, and comes back as it was."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from pictures_made import picture
from stores import Ticking
from tubside.errors import StoreError
from tubside.service.attachments import add_photo, add_words, read_photo
from tubside.service.authors import Author
from tubside.service.backups import back_up, check_backup, restore
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job, record
from tubside.service.panel_photo import shrunk
from tubside.service.people import PersonData, add_person
from tubside.service.records import DangerTold, Machine, PersonNamed, PhotoKept, WordsKept
from tubside.store import backup as writing
from tubside.store.content import Content, content_of
from tubside.store.opening import Store

PHOTO = picture("JPEG")


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the models of a shop on a server out of the data folder of whoever tests."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))


def filled(store: Store, author: Author) -> str:
    """Put a job with a person, words and a photo into a store; the job's id."""
    now = author.clock()
    person = add_person(store, "person-0001", PersonData(name="Ada Quill", note="ö\n★"), now)
    job = new_job(store, author, [DangerTold(), Machine(family="top_load", age_years=7.25)])
    add_words(store, job, "words-00001", "it hums, then nothing", now)
    add_photo(store, job, "photo-00001", PHOTO, now)
    for body in (
        PersonNamed(ref=person.ref),
        WordsKept(ref="words-00001"),
        PhotoKept(ref="photo-00001"),
    ):
        record(store, job, author, body)
    return job


def content(place: str | Path, clock: Ticking) -> Content:
    """Return what stands in a store."""
    store = open_data(place, clock)
    with store.reading() as opened:
        found = content_of(opened)
    store.close()
    return found


def test_a_backup_comes_back_as_it_was(
    store: Store, place: str | Path, author: Author, clock: Ticking, tmp_path: Path
) -> None:
    """Tests that a backup made in use, restored elsewhere, holds the same to the byte."""
    job = filled(store, author)
    made = back_up(place, clock, tmp_path / "kept.sqlite")
    with store.reading() as opened:
        assert content_of(opened) == made.content
    assert restore(made.file, tmp_path / "elsewhere", clock).old_data is None
    assert content(tmp_path / "elsewhere", clock) == made.content
    again = open_data(tmp_path / "elsewhere", clock)
    assert read_photo(again, job, "photo-00001").content == shrunk(PHOTO)
    again.close()


def test_a_shop_moves_to_a_server(
    tmp_path: Path, author: Author, clock: Ticking, new_database: Callable[[], str]
) -> None:
    """Tests that a backup of a SQLite file fills an empty PostgreSQL database, once."""
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    made, address = back_up(tmp_path, clock), new_database()
    restore(made.file, address, clock)
    assert content(address, clock) == made.content
    with pytest.raises(StoreError, match="not empty"):
        restore(made.file, address, clock)


def test_what_is_replaced_is_kept(tmp_path: Path, author: Author, clock: Ticking) -> None:
    """Tests that restoring over data puts these aside, whole."""
    store = open_data(tmp_path, clock)
    made = back_up(tmp_path, clock)
    filled(store, author)
    store.close()
    before = content(tmp_path, clock)
    old = restore(made.file, tmp_path, clock).old_data
    assert content(tmp_path, clock) == made.content
    assert old is not None
    assert check_backup(old) == before


def test_data_in_use_are_not_replaced(tmp_path: Path, author: Author, clock: Ticking) -> None:
    """Tests that restoring under a running server is refused and changes nothing."""
    store = open_data(tmp_path, clock)
    made = back_up(tmp_path, clock)
    job = filled(store, author)
    with pytest.raises(StoreError, match="in use"):
        restore(made.file, tmp_path, clock)
    record(store, job, author, DangerTold(kinds=["smoke"]))
    with store.reading() as opened:
        assert content_of(opened).rows["facts"] == 6
    store.close()


@pytest.mark.parametrize("place_of_damage", [50, 20_000])
def test_a_damaged_backup_is_found(
    tmp_path: Path, author: Author, clock: Ticking, place_of_damage: int
) -> None:
    """Tests that a backup that was altered on disk is not restored."""
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    made = back_up(tmp_path, clock)
    raw = bytearray(made.file.read_bytes())
    raw[place_of_damage : place_of_damage + 4000] = b"\xa5" * 4000
    made.file.write_bytes(raw)
    before = content(tmp_path, clock)
    with pytest.raises(StoreError, match=r"damaged|no backup"):
        restore(made.file, tmp_path, clock)
    assert content(tmp_path, clock) == before


def test_an_altered_letter_is_found(tmp_path: Path, author: Author, clock: Ticking) -> None:
    """Tests that a backup with one letter changed, which SQLite does not mind, is refused."""
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    made = back_up(tmp_path, clock)
    raw = made.file.read_bytes()
    assert raw.count(b"it hums, then") == 1
    made.file.write_bytes(raw.replace(b"it hums, then", b"it hums, they"))
    with pytest.raises(StoreError, match="altered"):
        restore(made.file, tmp_path / "elsewhere", clock)


def test_a_restored_store_may_be_restored_again(
    tmp_path: Path, author: Author, clock: Ticking
) -> None:
    """Tests that data that were restored, used, and put aside are a good backup too."""
    open_data(tmp_path, clock).close()
    made = back_up(tmp_path, clock)
    restore(made.file, tmp_path, clock)
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    before, old = content(tmp_path, clock), restore(made.file, tmp_path, clock).old_data
    assert old is not None
    assert check_backup(old) == before


def test_a_backup_that_differs_is_thrown_away(
    tmp_path: Path, author: Author, clock: Ticking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a copy which lacks a row is found out, and leaves no file."""
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    copy = writing._copy

    def short(source: object, file: Path) -> None:
        copy(source, file)  # type: ignore[arg-type]
        with sqlite3.connect(file) as opened:
            opened.execute("DELETE FROM words")
        opened.close()

    monkeypatch.setattr(writing, "_copy", short)
    with pytest.raises(StoreError, match="does not hold"):
        back_up(tmp_path, clock)
    assert list((tmp_path / "backups").iterdir()) == []


def test_no_backup_is_overwritten(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a file that is there stays."""
    file = tmp_path / "kept.sqlite"
    file.write_text("mine")
    open_data(tmp_path / "data", clock).close()
    with pytest.raises(StoreError, match="there already"):
        back_up(tmp_path / "data", clock, file)
    assert file.read_text() == "mine"


def test_reading_a_backup_changes_no_byte(tmp_path: Path, author: Author, clock: Ticking) -> None:
    """Tests that checking a backup leaves it, and nothing beside it, for good."""
    store = open_data(tmp_path, clock)
    filled(store, author)
    store.close()
    made = back_up(tmp_path, clock)
    before = made.file.read_bytes()
    assert check_backup(made.file) == made.content
    assert made.file.read_bytes() == before
    assert list(made.file.parent.iterdir()) == [made.file]


def test_a_name_with_odd_signs(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a folder may have signs that mean something in an address."""
    folder = tmp_path / "a shop? 100% #1"
    open_data(folder, clock).close()
    made = back_up(folder, clock)
    assert restore(made.file, tmp_path / "b?c%41", clock).old_data is None
    assert content(tmp_path / "b?c%41", clock) == made.content
