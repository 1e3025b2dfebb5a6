"""Data out: everything once, one person's own and nobody else's, and repairs without people."""

from __future__ import annotations

import csv
import json
from hashlib import sha256
from io import BytesIO, StringIO
from zipfile import ZipFile

import pytest

from pictures_made import picture
from stores import START
from tubside.errors import ExportError, NotThereError
from tubside.service.after_records import Disposed
from tubside.service.attachments import add_photo, add_words
from tubside.service.authors import Author
from tubside.service.exports import everything, kept_by_law, of_person
from tubside.service.jobs import new_job, record
from tubside.service.library import Library
from tubside.service.logins import User, add_user
from tubside.service.open_repair_data import FIELDS, Provider, table
from tubside.service.people import PersonData, add_person, erase_person
from tubside.service.records import (
    Closing,
    Machine,
    PersonNamed,
    PhotoKept,
    Reported,
    WordsKept,
)
from tubside.store.all_rows import LEFT_OUT
from tubside.store.opening import Store
from tubside.store.tables import METADATA

ADA = PersonData(name="Ada Quill", address="=3 Mill Lane", phone="0555 0199")
BO = PersonData(name="Bo Tarn")


def job_of(store: Store, author: Author, person: str, *, closed: bool) -> str:
    """Keep a job of a person with words and a photo."""
    machine = Machine(family="front_load", age_years=7.5)
    job = new_job(store, author, [machine, Reported(conditions=["wont_drain"])])
    add_words(store, job, f"words-{person}", f"said by {person}", START)
    add_photo(store, job, f"photo-{person}", picture(), START)
    for body in (
        PersonNamed(ref=person),
        WordsKept(ref=f"words-{person}"),
        PhotoKept(ref=f"photo-{person}"),
    ):
        record(store, job, author, body)
    if closed:
        record(store, job, author, Closing(causes=["pump-object"], confirmed_by="re-run"))
    return job


@pytest.fixture
def jobs(store: Store, author: Author) -> tuple[str, str]:
    """Return the jobs of two people."""
    add_person(store, "person-ada1", ADA, START)
    add_person(store, "person-bo01", BO, START)
    return (
        job_of(store, author, "person-ada1", closed=True),
        job_of(store, author, "person-bo01", closed=False),
    )


def sheet(archive: ZipFile, name: str) -> list[dict[str, str]]:
    """Return a table of an archive."""
    text = archive.read(f"{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text, newline="")))


@pytest.mark.usefixtures("jobs")
def test_everything_and_no_secret(store: Store) -> None:
    """Tests that each table is there with each row, photos as files, and no password."""
    add_user(store, User("ida", "office", START), "a long enough password")
    content = b"".join(everything(store, START))
    archive = ZipFile(BytesIO(content))
    assert archive.testzip() is None
    tables = {name.removesuffix(".csv") for name in archive.namelist() if name.endswith(".csv")}
    assert tables == {one.name for one in METADATA.sorted_tables} - LEFT_OUT
    assert len(sheet(archive, "jobs")) == 2
    assert {row["name"] for row in sheet(archive, "users")} == {"ida"}
    assert "password" not in sheet(archive, "users")[0]
    assert archive.read("photos/photo-person-ada1.jpeg")[:3] == b"\xff\xd8\xff"
    moments = [row["opened_at"] for row in sheet(archive, "jobs")]
    assert all(moment.startswith("2026-03-02T") and "+00:00" in moment for moment in moments)


def test_sent_in_pieces(store: Store, author: Author) -> None:
    """Tests that an archive begins to come before all of it is made."""
    job = new_job(store, author, [Machine(family="front_load")])
    for number in range(40):
        add_photo(store, job, f"photo-{number:05}", picture("PNG", (number, 9, 9)), START)
        noise = "".join(sha256(f"{number} {n}".encode()).hexdigest() for n in range(62))
        add_words(store, job, f"words-{number:05}", noise, START)
    pieces = list(everything(store, START))
    assert len(pieces) >= 2
    assert len(ZipFile(BytesIO(b"".join(pieces))).namelist()) > 40


def test_one_persons_own(store: Store, jobs: tuple[str, str]) -> None:
    """Tests that a person's archive holds all of theirs and nothing of another's."""
    archive = ZipFile(BytesIO(b"".join(of_person(store, "person-ada1", START))))
    told = json.loads(archive.read("person.json"))
    assert told["person"][0]["name"] == "Ada Quill"
    assert told["jobs"] == [jobs[0]]
    assert told["tables"]["words"][0]["content"] == "said by person-ada1"
    assert "Bo Tarn" not in archive.read("person.json").decode()
    assert archive.namelist() == ["person.json", "photos/photo-person-ada1.jpeg"]
    with pytest.raises(NotThereError):
        list(of_person(store, "person-none", START))


def test_after_erasing_nothing_is_left(store: Store, jobs: tuple[str, str]) -> None:
    """Tests that an erased person's archive holds facts and no name, word or photo."""
    erase_person(store, "person-ada1", START)
    archive = ZipFile(BytesIO(b"".join(of_person(store, "person-ada1", START))))
    text = archive.read("person.json").decode()
    assert "Ada" not in text
    assert "said by" not in text
    assert json.loads(text)["jobs"] == [jobs[0]]
    assert archive.namelist() == ["person.json"]
    assert kept_by_law(store, "person-ada1") == 0


def rows(store: Store) -> list[dict[str, str]]:
    """Return the repairs that are published."""
    text = "".join(table(store, Library(), Provider("Mill Lane", "NZL")))
    return list(csv.DictReader(StringIO(text, newline="")))


def test_repairs_for_everybody(store: Store, author: Author, jobs: tuple[str, str]) -> None:
    """Tests fields and values against the standard's own schema, and that nobody is in it."""
    (row,) = rows(store)  # one of the two jobs is closed
    assert tuple(row) == FIELDS
    assert row["repair_status"] == "Fixed"
    assert row["product_category_id"] == "17"
    assert row["product_age"] == "7.5"
    assert row["event_date"] == "2026-03-01"
    assert "Cause: strainer blocked" in row["problem"]
    whole = ",".join(row.values())
    assert not any(secret in whole for secret in ("Ada", "3 Mill Lane", "said by", jobs[0]))
    record(store, jobs[0], author, Disposed(what="machine", way="recycled"))
    assert rows(store)[0]["repair_status"] == "End of life"


@pytest.mark.parametrize(
    ("name", "country"), [("", "NZL"), ("Mill Lane", "nz"), ("x" * 101, "NZL")]
)
def test_a_provider_has_a_name_and_a_country(name: str, country: str) -> None:
    """Tests that data is not published without saying whose it is."""
    with pytest.raises(ExportError):
        Provider(name, country)
