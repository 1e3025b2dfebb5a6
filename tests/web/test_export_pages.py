"""Data out by links and forms: the archives, their names, and who may take them."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest

from tubside.service.library import Library
from tubside.service.people import PersonData, add_person, read_person
from tubside.service.records import Closing, PersonNamed
from unscripted import Unscripted, unscripted_at

CLOSED = Closing(causes=["pump-object"], confirmed_by="re-run")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unscripted]:
    """A shop with one customer."""
    made = unscripted_at(Path(tmp_path_factory.mktemp("shop")), Library())
    add_person(made.store, "person-0001", PersonData(name="Ada Quill"), made.clock())
    yield made
    made.store.close()


def test_everything_by_a_link(shop: Unscripted) -> None:
    """Tests the page, the archive behind its link, and that no cache keeps it."""
    shop.job(CLOSED)
    assert "/export/tables.zip" in shop.get("/export").text
    answer = shop.get("/export/tables.zip")
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["content-disposition"].endswith('.zip"')
    assert "jobs.csv" in ZipFile(BytesIO(answer.content)).namelist()


def test_repairs_by_a_form(shop: Unscripted) -> None:
    """Tests the open table, and that a missing name is told in words."""
    shop.job(CLOSED)
    table = shop.get("/export/repairs.csv?provider=Mill+Lane&country=NZL")
    assert table.text.startswith("id,data_provider,country,")
    assert "NZL" in table.text
    refused = shop.get("/export/repairs.csv?provider=&country=NZL")
    assert refused.status_code == 422
    assert "ive the name" in refused.text


def test_a_persons_data_out_and_erased(shop: Unscripted) -> None:
    """Tests that what goes and what stays is said, and that erasing needs the form."""
    job = shop.job(PersonNamed(ref="person-0001"))
    here = f"/jobs/{job}/person/data"
    page = shop.get(here).text
    assert "no bills or payments" in page
    assert "Tax Administration Act 1994" in page
    assert f"{here}.zip" in page
    assert (
        "Ada Quill"
        in ZipFile(BytesIO(shop.get(f"{here}.zip").content)).read("person.json").decode()
    )
    assert "Ada Quill" not in shop.post(f"/jobs/{job}/person", {"do": "erase"}).text
    assert read_person(shop.store, "person-0001").data is None
    assert "This person was erased" in shop.get(here).text
    assert shop.get(f"/jobs/{shop.job()}/person/data").status_code == 404


def test_the_figures(shop: Unscripted) -> None:
    """Tests that the page counts what was closed and draws it."""
    shop.job(CLOSED)
    page = shop.get("/figures")
    assert page.text.count('<svg class="chart"') >= 2
    assert "came back" in page.text
    assert 'href="/export"' in page.text
