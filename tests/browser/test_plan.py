"""The plan on the job page in Chromium: asked for, unfolded without script, printed whole."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.records import Body, DangerTold, Machine, Reported

pytestmark = pytest.mark.browser
CALL: list[Body] = [
    DangerTold(),
    Machine(family="front_load", age_years=6),
    Reported(conditions=["wont_drain"]),
]
WIDTHS = (320, 390, 1280)


@pytest.fixture(scope="module")
def job(shop: Served) -> str:
    """Return a new call whose plan nobody has asked for."""
    ids = count()
    author = Author("server", lambda: datetime.now(UTC), lambda: f"planned-{next(ids):05}")
    store = open_data(shop.data, author.clock)
    try:
        return new_job(store, author, CALL)
    finally:
        store.close()


def wider_than_the_screen(page: Page) -> bool:
    """Return whether the page scrolls sideways."""
    wide = page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
    return bool(wide)


def test_plan_unfolds_without_script_and_prints(chromium: Browser, shop: Served, job: str) -> None:
    """Tests the link, the numbers, each fold by a tap, no sideways scroll, and the print."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 800}, java_script_enabled=False
    )
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.goto(f"{shop.address}/jobs/{job}")
    page.get_by_role("link", name="Work out the plan").click()
    plan = page.locator("#plan")
    assert plan.get_by_text("To the end, on average").is_visible()
    branches = plan.locator(".branch")
    assert not branches.first.is_visible()
    for name in ("What to load, what to order", "The plan, branch by branch"):
        plan.get_by_text(name, exact=True).click()
    second = plan.locator(".branch .branch > summary").first
    second.click()
    assert plan.locator(".branch .branch .branch").first.is_visible()
    context.close()
    paper = chromium.new_context(viewport={"width": 800, "height": 1000})
    printed = paper.new_page()
    printed.goto(f"{shop.address}/jobs/{job}")
    printed.emulate_media(media="print")
    deepest = printed.locator("#plan .branch--end").first
    assert deepest.evaluate("one => one.checkVisibility({contentVisibilityAuto: true})")
    assert deepest.bounding_box() is not None
    for width in WIDTHS:
        printed.emulate_media(media="screen")
        printed.set_viewport_size({"width": width, "height": 800})
        printed.goto(f"{shop.address}/jobs/{job}?plan=1#plan")
        for fold in printed.locator("#plan summary").all():
            if fold.is_visible():
                fold.click()
        assert not wider_than_the_screen(printed)
    paper.close()
