"""Pages beside the way of a plain job: each fits, can be tapped and read, on screen and paper."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import Walk, reading_of, tapped

pytestmark = pytest.mark.browser
BESIDE = (
    *("trouble", "machine", "person", "steps", "steps/{step}", "steps/drain-time"),
    *("steps/fill-time", "closing", "recordings", "spin", "deposit-invoice"),
    "no-such-page",
)
LEARNED = ("/learning", "/learning-bring", "/learning/front_load", "/learning/front_load/said")
ALONE = ("/?closed=1", "/login", "/nothing-here", *LEARNED)


def on_a_job(chromium: Browser, shop: Served, width: int) -> Page:
    """A page at the first advice of a call."""
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme="light")
    page.set_default_timeout(30_000)
    Walk(page, shop.address, by_axe=False).call()
    return page


@pytest.mark.parametrize("width", [320, pytest.param(768, marks=pytest.mark.soak)])
def test_pages_beside_the_way(chromium: Browser, shop: Served, width: int) -> None:
    """Tests that every other page fits, has large targets, and that axe finds nothing."""
    page = on_a_job(chromium, shop, width)
    job = page.url
    step = page.get_attribute("#step input[name=step]", "value")
    addresses = [f"{job}/{one.format(step=step)}" for one in BESIDE]
    wrong = []
    for address in addresses + [shop.address + one for one in ALONE]:
        page.goto(address)
        wrong += reading_of(page)
    assert wrong == []


def test_all_that_is_folded(chromium: Browser, shop: Served) -> None:
    """Tests the job page with everything unfolded."""
    page = on_a_job(chromium, shop, 360)
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
    assert reading_of(page) == []


def test_a_form_sent_wrong_says_how_to_mend_it(chromium: Browser, shop: Served) -> None:
    """Tests that the page of a refused form is as good as any other."""
    page = on_a_job(chromium, shop, 360)
    page.goto(f"{page.url}/trouble")
    page.click("summary")
    page.fill("input[name=age]", "old")
    tapped(page, "button[name=first] >> nth=0")
    assert "no age in years" in page.inner_text("main")
    assert reading_of(page) == []


def test_paper_holds_no_buttons(chromium: Browser, shop: Served) -> None:
    """Tests that a printed job has its cautions and words, and nothing that only a screen can."""
    page = on_a_job(chromium, shop, 768)
    page.emulate_media(media="print")
    seen = page.locator("button, .main-act, .second-act, summary >> text=Photos")
    assert seen.filter(visible=True).count() == 0
    assert page.locator(".caution").first.is_visible()
    assert page.locator("#step .say").is_visible()


def test_forced_colours_keep_what_is_chosen(chromium: Browser, shop: Served) -> None:
    """Tests that edges stay where the colours of the system replace ours."""
    page = on_a_job(chromium, shop, 360)
    page.emulate_media(forced_colors="active")
    wide = "(it) => parseFloat(getComputedStyle(it).borderTopWidth)"
    assert page.locator("#step").evaluate(wide) > page.locator(".plate").last.evaluate(wide) > 0
    assert page.locator(".outcome").first.evaluate(wide) > 0
