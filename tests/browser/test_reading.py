"""A number measured, told and pegged, on a phone and without a script."""

from __future__ import annotations

from typing import Literal

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import Walk, reading_of, tapped

pytestmark = pytest.mark.browser


def at_the_machine(
    chromium: Browser, shop: Served, family: str, scheme: Literal["light", "dark"] = "light"
) -> tuple[Page, str]:
    """A job on site whose water stays in, on a phone without scripts; the job's address."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 800}, java_script_enabled=False, color_scheme=scheme
    )
    page = context.new_page()
    page.set_default_timeout(30_000)
    walk = Walk(page, shop.address, by_axe=False)
    page.goto(f"{shop.address}/call")
    walk.press("button[name=danger][value=none]")
    walk.press(f"button[value='family:{family}']")
    walk.press("button[name=first][value=wont_drain]")
    page.locator("#step").wait_for()
    job = page.url.partition("#")[0]
    walk.press("button[name=do][value=arrive]")
    return page, job


def measure(page: Page, job: str, check: str, number: str) -> None:
    """Tick the cautions of a check and tell its number."""
    page.goto(f"{job}/steps/{check}")
    for box in page.locator(".caution input").all():
        box.check()
    page.fill("input[name=value]", number)
    tapped(page, ".measure .main-act")


@pytest.mark.parametrize("family", ["front_load", "top_load"])
def test_a_number_is_expected_told_and_weighed(
    chromium: Browser, shop: Served, family: str
) -> None:
    """Tests the page before, the fact on the line, and what the number did to the belief."""
    page, job = at_the_machine(chromium, shop, family)
    page.goto(f"{job}/steps/drain-time")
    assert "Nine sound machines of ten" in page.inner_text(".expect")
    assert page.locator(".expect svg.chart .cv").count() == page.locator(".curve-keys li").count()
    measure(page, job, "drain-time", "8 min 20 s")
    assert "Time of a drain: 500 s" in page.inner_text("#line")
    after = page.locator("#after")
    assert after.locator(".plumb").count() == 1
    assert after.locator("[aria-current=true]").count() == 1
    assert "Of 100 readings" in after.inner_text()
    assert after.locator(".moved li").count() >= 3


def test_an_unlikely_number_is_asked_about(chromium: Browser, shop: Served) -> None:
    """Tests that a slip of the unit gets a question, and its answer is kept."""
    page, job = at_the_machine(chromium, shop, "front_load")
    measure(page, job, "valve-coil", "38 kohm")
    assert page.inner_text("h1").endswith("?")
    assert reading_of_plain(page) == []
    tapped(page, "button.outcome:has-text('3.8 kΩ')")
    assert "Inlet valve coil: 3.8 kΩ" in page.inner_text("#line")


def test_more_than_the_scale_and_nothing_at_all(chromium: Browser, shop: Served) -> None:
    """Tests a number over a limit, and that no number came."""
    page, job = at_the_machine(chromium, shop, "front_load")
    page.goto(f"{job}/steps/drain-time")
    for box in page.locator(".caution input").all():
        box.check()
    page.select_option("select[name=says]", "over")
    page.fill("input[name=value]", "10 min")
    tapped(page, ".measure .main-act")
    assert "Time of a drain: over 10 min" in page.inner_text("#line")
    page.goto(f"{job}/steps/hose-end-flow")
    tapped(page, "button[name=none]")
    assert "tick what can hurt first" in page.inner_text("main").lower()
    page.go_back()
    for box in page.locator(".caution input").all():
        box.check()
    tapped(page, "button[name=none]")
    assert "Flow at the end of the cold hose: no reading" in page.inner_text("#line")


def test_a_number_that_is_none_is_refused(chromium: Browser, shop: Served) -> None:
    """Tests that words in place of a number are told how to be written."""
    page, job = at_the_machine(chromium, shop, "top_load")
    measure(page, job, "drain-time", "soon")
    assert "for example" in page.inner_text("main")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_of_a_reading_hold(
    chromium: Browser, shop: Served, scheme: Literal["light", "dark"]
) -> None:
    """Tests width, taps and contrast of the page before and after a number."""
    page, job = at_the_machine(chromium, shop, "front_load", scheme)
    context = chromium.new_context(viewport={"width": 390, "height": 800}, color_scheme=scheme)
    scripted = context.new_page()
    scripted.goto(f"{job}/steps/pump-flow")
    assert reading_of(scripted) == []
    measure(page, job, "pump-flow", "10 L in 90 s")
    scripted.goto(job)
    assert reading_of(scripted) == []


def reading_of_plain(page: Page) -> list[str]:
    """Mistakes of a page that may run no script: nothing wider than the screen."""
    box = page.locator("main").bounding_box()
    return [] if box is not None and box["width"] <= 390 else ["too wide"]
