"""Taps to the first advice, lamps that can be held, and two browsers on one job."""

from __future__ import annotations

import re
import time
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import Walk, tapped

pytestmark = pytest.mark.browser
MOST_TAPS, MOST_SECONDS = 12, 90
FASTEST_HZ = 3
MOVING, STILL = ".tp-moving", ".tp-still"


def phone(
    chromium: Browser, *, scripts: bool = True, motion: Literal["reduce"] | None = None
) -> Page:
    """A page of a browser of its own, as wide as a phone."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 800}, java_script_enabled=scripts, reduced_motion=motion
    )
    page = context.new_page()
    page.set_default_timeout(30_000)
    return page


def panel(page: Page, shop: Served) -> None:
    """Take a call as far as the panel."""
    page.goto(f"{shop.address}/call")
    page.click("button[value=none]")
    page.click("button[value='model:aldermoor-tern']")
    page.click("a[href$='/panel']")
    page.locator(".pictures").wait_for()


def shown(page: Page, css: str) -> int:
    """How many elements of a selector are drawn."""
    return page.locator(css).filter(visible=True).count()


def test_few_taps_to_the_first_advice(chromium: Browser, shop: Served) -> None:
    """Tests that a typical call, lamps told, is advised on within the taps and the time."""
    walk = Walk(phone(chromium), shop.address, by_axe=False)
    start = time.monotonic()
    walk.call()
    assert walk.page.locator("#step .outcome").count() > 0
    assert walk.taps <= MOST_TAPS
    assert time.monotonic() - start <= MOST_SECONDS


def test_three_taps_where_no_panel_is_known(chromium: Browser, shop: Served) -> None:
    """Tests that only the danger, the family and the trouble are needed before advice."""
    walk = Walk(phone(chromium), shop.address)
    walk.page.goto(f"{shop.address}/call")
    walk.press("button[name=danger][value=none]")
    walk.press("button[value='family:front_load']")
    walk.press("button[name=first]")
    walk.page.locator("#step").wait_for()
    assert walk.taps == 3


@pytest.mark.parametrize("scripts", [True, False])
def test_hold_still_works_without_a_script(
    chromium: Browser, shop: Served, *, scripts: bool
) -> None:
    """Tests that one tick stops every lamp, with scripts and without."""
    page = phone(chromium, scripts=scripts)
    panel(page, shop)
    assert shown(page, MOVING) > 0
    page.check(".tp-hold")
    assert shown(page, MOVING) == 0
    assert shown(page, STILL) > 0


def test_nothing_moves_with_reduced_motion(chromium: Browser, shop: Served) -> None:
    """Tests that the still pictures stand in for the lamps, and no rule of CSS moves."""
    page = phone(chromium, motion="reduce")
    panel(page, shop)
    assert shown(page, MOVING) == 0
    assert shown(page, STILL) > 0
    assert page.evaluate("document.getAnimations().length") == 0


def test_nothing_flashes_above_three_a_second(chromium: Browser, shop: Served) -> None:
    """Tests the changes from dark to lit in every second of each animation on the page."""
    page = phone(chromium)
    panel(page, shop)
    timed = page.evaluate(
        """() => [...document.querySelectorAll('animate, set')].map((it) =>
        [it.getAttribute('dur'), it.getAttribute('values'), it.getAttribute('keyTimes')])"""
    )
    assert timed
    for duration, values, moments in timed:
        assert fastest(duration, values, moments) <= FASTEST_HZ, (duration, values)


def fastest(duration: str, values: str, moments: str | None) -> int:
    """The most rises of a value within any one second of a repeating animation."""
    period = float(re.sub(r"[^\d.]", "", duration)) * (0.001 if duration.endswith("ms") else 1.0)
    levels = [float(value) for value in values.split(";")]
    shares = (
        [float(moment) for moment in moments.split(";")]
        if moments
        else [number / len(levels) for number in range(len(levels))]
    )
    pairs = zip([levels[-1], *levels], zip(levels, shares, strict=True), strict=False)
    once = [share * period for before, (level, share) in pairs if level > before]
    rounds = range(int(1 / period) + 3)
    rises = [at + period * number for number in rounds for at in once]
    return max((sum(0 <= other - at < 1 for other in rises) for at in rises), default=0)


def test_the_count_of_flashes_can_fail() -> None:
    """Tests the test above on rhythms that are known."""
    assert fastest("1s", "0;1", None) == 1
    assert fastest("0.2s", "0;1", "0;0.5") == 5
    assert fastest("2000ms", "0;1;0;1;0", "0;0.1;0.2;0.3;0.4") == 2


def test_two_browsers_on_one_job_keep_both_facts(chromium: Browser, shop: Served) -> None:
    """Tests that two who tell from the same page both count, and both see it."""
    one, other = phone(chromium), phone(chromium)
    walk = Walk(one, shop.address, by_axe=False)
    walk.call()
    other.goto(one.url)
    for page, title, button in (
        (one, "Who pays", "[name=who][value=insurer]"),
        (other, "A danger", "[name=danger][value=smoke]"),
    ):
        page.click(f"summary:has-text('{title}')")
        tapped(page, button)
    for page in (one, other):
        page.goto(one.url)
        line = page.inner_text("#line")
        assert "An insurer pays" in line
        assert "Smoke" in line
        assert page.locator(".danger").count() > 0
