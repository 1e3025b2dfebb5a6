"""Somebody at 390 px changes a weight, sees what comes of it, keeps it and takes it back."""

from __future__ import annotations

import os

import pytest
from playwright.sync_api import Browser, Page, expect

from served import Served
from tubside.pack.layer.reading import read_layer
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")
SLOW = 60_000
"""[ms]; the effect on forty calls is worked out by two packs."""


def look(page: Page, name: str) -> list[str]:
    """Read the page, and take a picture when somebody wants one."""
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/own-{name}.png", full_page=True)
    return reading_of(page)


def test_a_weight_is_changed_seen_kept_and_taken_back(chromium: Browser, shop: Served) -> None:
    """Tests search, a refused value beside its field, the effect, side by side, and undo."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.set_default_timeout(SLOW)
    page.goto(f"{shop.address}/models")
    page.get_by_role("link", name="What the packs say").click()
    wrong = look(page, "families")
    page.get_by_role("link", name="Top-load washing machine").click()
    page.get_by_label("Words of it").fill("hose kinked")
    page.get_by_role("button", name="Find").click()
    wrong += look(page, "found")
    page.get_by_role("link", name="Drain hose kinked, crushed").click()
    page.locator("#weight summary").click()
    page.locator("#weight").get_by_label("Weight").fill("many")
    page.locator("#weight").get_by_label("Why?").fill("six in a year")
    page.locator("#weight").get_by_role("button").click()
    expect(page.locator("#weight .wrong")).to_contain_text("number")
    wrong += look(page, "refused")
    assert page.locator("#weight").get_by_label("Why?").input_value() == "six in a year"
    page.locator("#weight").get_by_label("Weight").fill("150")
    page.locator("#weight").get_by_role("button").click()
    expect(page.locator("#effect")).to_contain_text("of 40 typical calls")
    wrong += look(page, "effect")
    page.get_by_role("button", name="Keep this change").click()
    expect(page.locator(".beside")).to_contain_text("150")
    wrong += look(page, "beside")
    file = shop.data / "layers" / "top_load.yaml"
    assert read_layer(file, "top_load").changes[0].why == "six in a year"
    page.get_by_role("button", name="Take back").click()
    expect(page.get_by_text("None: the pack is used as it came.")).to_be_visible()
    assert not file.exists()
    assert wrong == []
    page.close()
