"""A whole job in Chromium: widths, schemes, keyboard, no script, large text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import pytest
from playwright.sync_api import Browser, Locator, Page

from served import Served
from walking import Walk, by_finger, by_keyboard

pytestmark = pytest.mark.browser


@dataclass(frozen=True)
class Way:
    """One way to go through a job."""

    width: int
    scheme: Literal["light", "dark"]
    press: Callable[[Page, Locator], None] = by_finger
    scripts: bool = True
    large: bool = False


WAYS = {
    "360-light": Way(360, "light"),
    "390-dark": Way(390, "dark"),
    "1280-light": Way(1280, "light"),
    "1280-dark": Way(1280, "dark"),
    "keyboard": Way(390, "light", by_keyboard),
    "no-script": Way(360, "dark", scripts=False),
    "large-text": Way(390, "light", large=True),
}


def enlarge(page: Page) -> None:
    """Set the text of a page to twice its size."""
    page.add_style_tag(content="html{font-size:200%}")


SELDOM = {"1280-light", "1280-dark", "360-light"}
"""Ways that differ least from another one; all of them are walked by the long tests."""
WALKED = [pytest.param(way, marks=pytest.mark.soak) if way in SELDOM else way for way in WAYS]


@pytest.mark.parametrize("name", WALKED)
def test_a_whole_job(chromium: Browser, shop: Served, name: str) -> None:
    """Tests that a job goes from the call to its closing, and every page on the way is good."""
    way = WAYS[name]
    context = chromium.new_context(
        viewport={"width": way.width, "height": 800},
        color_scheme=way.scheme,
        java_script_enabled=way.scripts,
        bypass_csp=way.large,
    )
    page = context.new_page()
    if way.large:
        page.on("domcontentloaded", enlarge)
    page.set_default_timeout(30_000)
    walk = Walk(page, shop.address, way.press, by_axe=way.scripts)
    walk.whole_job()
    assert "closed" in page.inner_text("main")
    assert walk.wrong == []
    context.close()
