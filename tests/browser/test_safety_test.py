"""The safety test in a real browser: its pages fit, can be tapped, and axe finds nothing."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser
METER = {"instrument": "bench tester 7", "calibrated": "2000-01-01", "due": "2100-01-01"}


def press(page: Page, css: str) -> None:
    """Press it, and wait for the page it leads to."""
    with page.expect_navigation(wait_until="load"):
        page.click(css)


def job_on(page: Page, shop: Served) -> str:
    """Take a call about a front-loader by its forms; the job's address."""
    answer = page.request.post(
        f"{shop.address}/call", form={"danger": "none"}, headers={"origin": shop.address}
    )
    found = re.search(r"/jobs/[^/]+", answer.url)
    assert found is not None
    job = shop.address + found[0]
    for path, form in (
        ("machine", ("machine", "family:front_load")),
        ("trouble", ("first", "wont_drain")),
    ):
        told: dict[str, str | float | bool] = {form[0]: form[1]}
        page.request.post(f"{job}/{path}", form=told, headers={"origin": shop.address})
    return job


def test_pages_of_the_safety_test(chromium: Browser, shop: Served) -> None:
    """Tests country, appliance, a failed look and the record by tapping on a phone."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    job, wrong = job_on(page, shop), []
    page.goto(f"{shop.address}/safety")
    page.select_option("[name=country]", "DE")
    press(page, "text=Choose it")
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
    wrong += reading_of(page)
    page.goto(f"{job}/safety")
    page.check("[value=cord-or-plug]")
    press(page, "text=Keep what was touched")
    page.fill("[name=heater_kw]", "2")
    page.fill("[name=cord_m]", "5.5")
    press(page, "text=Show the tests")
    page.fill("#test-conductor [name=value]", "0.2")
    page.fill("#test-conductor [name=uncertainty]", "0.02")
    for name, value in METER.items():
        page.fill(f"#test-conductor [name={name}]", value)
    press(page, "#test-conductor >> text=Keep the reading")
    assert "At most 0.4 Ω" in page.inner_text("#test-conductor")
    assert "not proven" in page.inner_text("#test-conductor")
    press(page, "#test-polarity >> text=It is not right")
    assert "Unsafe: do this now" in page.inner_text("main")
    wrong += reading_of(page)
    page.fill("[name=tester]", "Ada Quill")
    press(page, "text=Not released: I disabled and marked it")
    press(page, "text=The record, to print")
    assert "Not released: disabled and marked" in page.inner_text("h1")
    wrong += reading_of(page)
    assert wrong == []
    page.close()
