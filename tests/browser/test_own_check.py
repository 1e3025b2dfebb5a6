"""The customer's own check in a browser, scripts off: it fits, reads well, and can be tapped."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import Walk, reading_of, tapped

pytestmark = pytest.mark.browser


def link_of(chromium: Browser, shop: Served) -> str:
    """The front door's link, as the shop gives it out."""
    page = chromium.new_page()
    page.goto(f"{shop.address}/own-check")
    found = re.search(r"https?://\S+/check/\S+", page.input_value("textarea"))
    page.close()
    assert found is not None
    return found[0]


def walked(page: Page, shot: str = "") -> list[str]:
    """Go from the front door to a wish for a visit; what is wrong with the pages on the way."""
    wrong = []

    def look(name: str, marked: str) -> None:
        page.wait_for_selector(marked)
        page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
        wrong.extend(reading_of(page))
        if shot:
            page.screenshot(path=f"{shot}-{name}.png", full_page=True)

    look("danger", "text=No, none of these")
    page.click("text=No, none of these")
    look("machine", "input[name=phone]")
    page.check("input[value='model:brackwater-wren']")
    page.fill("input[name=phone]", "01632 960 113")
    page.click("text=Go on")
    look("trouble", "input[name=picked]")
    page.check("input[name=picked] >> nth=0")
    page.click("button[name=first][value=wont_drain]")
    look("step", "button[name=outcome]")
    page.check("input[value=Monday]")
    page.click("text=Ask for a visit >> nth=-1")
    look("asked", "text=has your wish")
    return wrong


@pytest.mark.parametrize("width", [320, 1280])
def test_without_a_script(chromium: Browser, shop: Served, width: int) -> None:
    """Tests the whole way without scripts: no page is wide, small to tap, or found wrong by axe."""
    address = link_of(chromium, shop)
    context = chromium.new_context(
        viewport={"width": width, "height": 800}, java_script_enabled=False
    )
    page = context.new_page()
    page.set_default_timeout(30_000)
    page.goto(address)
    tapped(page, "text=No, none of these")
    page.check("input[value='model:brackwater-wren']")
    page.fill("input[name=phone]", "01632 960 112")
    tapped(page, "text=Go on")
    page.check("input[name=picked] >> nth=0")
    tapped(page, "button[name=first][value=wont_drain]")
    page.wait_for_selector("button[name=outcome]")
    assert page.locator("button[name=outcome]").count() > 1
    page.click("text=Something dangerous happened")
    tapped(page, "button[value=smoke]")
    assert "Do nothing more at the machine" in page.inner_text("main")
    context.close()


def test_the_guide_is_looked_at(chromium: Browser, shop: Served) -> None:
    """Tests the way from the front door into the guide: its sheet, its pictures and its script."""
    page = chromium.new_page(viewport={"width": 320, "height": 800}, color_scheme="light")
    page.set_default_timeout(30_000)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(f"{shop.address}/own-check")
    tapped(page, "text=Look at the guide")
    wrong = reading_of(page)
    page.goto(f"{shop.address}/guide/machine-aldermoor-tern-six.html")
    wrong += reading_of(page)
    drawn = "Array.from(document.images, (it) => it.complete && it.naturalWidth > 0)"
    assert all(page.evaluate(drawn))
    page.locator("li.step .answer[data-number]").first.click()
    assert page.locator("#short-text").text_content()
    assert wrong + said == []


@pytest.mark.parametrize("width", [320, pytest.param(1280, marks=pytest.mark.soak)])
def test_every_page_of_it(chromium: Browser, shop: Served, width: int) -> None:
    """Tests every page on the way by axe, for its width and its targets, and the shop's own."""
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme="light")
    page.set_default_timeout(30_000)
    page.goto(link_of(chromium, shop))
    assert walked(page) == []
    wrong = []
    page.goto(f"{shop.address}/own-check")
    wrong += reading_of(page)
    Walk(page, shop.address, by_axe=False).call()
    page.goto(f"{page.url}/own-check")
    wrong += reading_of(page)
    page.goto(shop.address)
    assert "Came by the front door" in page.inner_text("main")
    assert wrong + reading_of(page) == []
