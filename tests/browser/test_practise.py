"""A practice in a real browser, by links alone: from the call to the bill."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser
START = "machine=family:top_load&level=1&seed=3"


@pytest.mark.parametrize("width", [360, pytest.param(1024, marks=pytest.mark.soak)])
def test_a_practice_by_links(chromium: Browser, shop: Served, width: int) -> None:
    """Tests every page of a practice: it fits, reads well, and ends in a bill."""
    page = chromium.new_page(viewport={"width": width, "height": 800})
    page.set_default_timeout(30_000)
    page.goto(f"{shop.address}/practise")
    wrong = reading_of(page)
    page.get_by_role("button", name="Take the call").click()
    page.wait_for_url("**/practise/at?*")
    expect(page.get_by_role("link", name="Drive there")).to_be_visible()
    page.goto(f"{shop.address}/practise/at?{START}")
    page.get_by_role("link", name="Foam seen").click()
    expect(page.locator("text=Caution:").first).to_be_visible()
    page.get_by_role("link", name="Do it").click()
    expect(page.locator("text=Foam seen").first).to_be_visible()
    wrong += reading_of(page)
    page.get_by_role("link", name="Not worth repairing").click()
    wrong += reading_of(page)
    page.get_by_role("link", name="Do it").click()
    expect(page.get_by_role("heading", name="It was:")).to_be_visible()
    expect(page.get_by_role("row", name="Advised plan")).to_be_visible()
    wrong += reading_of(page)
    assert wrong == []
    page.close()


def test_no_script_is_needed(chromium: Browser, shop: Served) -> None:
    """Tests that a practice goes on with scripts switched off."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{shop.address}/practise/at?{START}")
    page.get_by_role("link", name="Drive there").click()
    page.get_by_role("link", name="Do it").click()
    expect(page.get_by_text("You are at the machine")).to_be_visible()
    context.close()


def test_a_link_that_was_typed_wrong(chromium: Browser, shop: Served) -> None:
    """Tests that a link without a machine, level or seed, or with an unknown step, is told so."""
    page = chromium.new_page()
    for query in ("", "machine=family:mangle&level=1&seed=1", "machine=family:top_load&level=9"):
        answer = page.goto(f"{shop.address}/practise/at?{query}")
        assert answer is not None
        assert answer.status == 422
    for query in (f"{START}&steps=polish", f"{START}&look=polish", f"{START[:-1]}-4"):
        answer = page.goto(f"{shop.address}/practise/at?{query}")
        assert answer is not None
        assert answer.status == 422
    page.close()
