"""Pages after the repair in Chromium at 390 px: they fit, can be tapped, and give data out."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count
from zipfile import ZipFile

import pytest
from playwright.sync_api import Browser

from served import Served
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.people import PersonData, add_person
from tubside.service.records import Body, Machine, PersonNamed, Reported
from walking import reading_of, tapped

pytestmark = pytest.mark.browser
CALL: list[Body] = [
    Machine(family="front_load", model="brackwater-wren", age_years=9.0),
    Reported(conditions=["wont_drain"]),
    PersonNamed(ref="person-0001"),
]
OF_A_JOB = ("worth", "after", "report", "person/data")


@pytest.fixture(scope="module")
def job(shop: Served) -> str:
    """Return a call on a machine of nine years."""
    ids = count()
    author = Author("server", lambda: datetime.now(UTC), lambda: f"after-{next(ids):05}")
    store = open_data(shop.data, author.clock)
    try:
        add_person(store, "person-0001", PersonData(name="Ada Quill"), author.clock())
        return new_job(store, author, CALL)
    finally:
        store.close()


def test_pages_after_the_repair(chromium: Browser, shop: Served, job: str) -> None:
    """Tests that each page fits, has large targets, and that axe finds nothing."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.set_default_timeout(60_000)
    wrong = []
    for path in (*(f"/jobs/{job}/{one}" for one in OF_A_JOB), "/figures", "/export"):
        page.goto(shop.address + path)
        page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
        wrong += reading_of(page)
    assert wrong == []
    page.close()


def test_weighed_again_and_taken_out_without_script(
    chromium: Browser, shop: Served, job: str
) -> None:
    """Tests that a changed bill turns the answer, and the archive of all tables arrives."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False
    )
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.goto(f"{shop.address}/jobs/{job}/worth")
    page.fill("input[name=bill]", "950")
    tapped(page, "text=Weigh it again")
    assert page.inner_text("h1") == "Not worth repairing"
    page.goto(f"{shop.address}/export")
    with page.expect_download() as waiting:
        page.click("text=Take everything out")
    assert "facts.csv" in ZipFile(waiting.value.path()).namelist()
    context.close()
