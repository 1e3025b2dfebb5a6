"""Quote, agreement on the link, invoice and payment by taps in a real browser."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from served import Served
from stores import Ticking
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.records import Machine, Reported
from walking import reading_of

pytestmark = pytest.mark.browser


def a_job(data: Path) -> str:
    """Open a job in the shop's data."""
    clock, numbers = Ticking(), count()
    store = open_data(data, clock)
    author = Author("office", clock, lambda: f"fact-{next(numbers):05}")
    machine = Machine(family="front_load", model="brackwater-wren", age_years=9.0)
    job = new_job(store, author, [machine, Reported(conditions=["wont_drain"])])
    store.close()
    return job


def test_money_by_taps(chromium: Browser, shop: Served) -> None:
    """Tests the whole way at 390 px, each page fitting, with large targets, and axe content."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    job, wrong = a_job(shop.data), []
    page.goto(f"{shop.address}/jobs/{job}/money")
    wrong += reading_of(page)
    page.click("text=Draw up a quote")
    page.wait_for_url("**/quote")
    page.check("input[value=range]")
    wrong += reading_of(page)
    page.click("text=Show the quote")
    page.wait_for_url("**/quotes/*")
    wrong += reading_of(page)
    link = page.input_value("input[readonly]")
    own = chromium.new_context(viewport={"width": 390, "height": 844}, java_script_enabled=False)
    customer = own.new_page()
    customer.goto(link)
    customer.click("text=I agree to this quote")
    customer.wait_for_selector("text=Agreed to")
    assert "Agreed to on the link" in customer.inner_text("main")
    own.close()
    page.goto(link)
    wrong += reading_of(page)
    page.goto(f"{shop.address}/jobs/{job}/invoice")
    page.fill("[name=buyer]", "Ada Quill")
    wrong += reading_of(page)
    page.click("text=Issue the invoice")
    page.wait_for_url("**/bills/*")
    assert "invoice 1" in page.inner_text("h1").lower()
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
    wrong += reading_of(page)
    page.click("text=Money of this job")
    page.wait_for_url("**/money")
    page.fill("[name=amount]", "10")
    page.click("text=It came in")
    page.wait_for_selector("text=Told wrongly")
    page.wait_for_load_state()
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
    wrong += reading_of(page)
    page.click("text=What is owed")
    page.wait_for_url("**/money")
    assert "Ada Quill" in page.inner_text("main")
    wrong += reading_of(page)
    page.click("text=Prices and tax")
    page.wait_for_url("**/money/settings")
    wrong += reading_of(page)
    assert wrong == []
    page.close()
