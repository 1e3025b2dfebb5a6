"""Somebody at 390 px changes a weight, sees what comes of it, keeps it and takes it back."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from served import Served, served
from tubside.pack.layer.reading import read_layer
from tubside.pack.new_family import begin_family
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")


@pytest.fixture(scope="module")
def small_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A shop with one small family, whose calls are worked out in a moment."""
    folder = Path(tmp_path_factory.mktemp("small"))
    begin_family("small", folder / "packs")
    with served(folder / "shop", "--packs", str(folder / "packs")) as running:
        yield running


def look(page: Page, name: str) -> list[str]:
    """Read the page, and take a picture when somebody wants one."""
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/own-{name}.png", full_page=True)
    return reading_of(page)


def test_a_weight_is_changed_seen_kept_and_taken_back(
    chromium: Browser, small_shop: Served
) -> None:
    """Tests search, a refused value beside its field, the effect, side by side, and undo."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{small_shop.address}/models")
    page.get_by_role("link", name="What the packs say").click()
    wrong = look(page, "families")
    page.get_by_role("link", name="Small").click()
    page.get_by_label("Words of it").fill("belt worn")
    page.get_by_role("button", name="Find").click()
    wrong += look(page, "found")
    page.get_by_role("link", name="belt-worn").click()
    page.locator("#weight summary").click()
    page.locator("#weight").get_by_label("Weight").fill("many")
    page.locator("#weight").get_by_label("Why?").fill("six in a year")
    page.locator("#weight").get_by_role("button").click()
    expect(page.locator("#weight .wrong")).to_contain_text("number")
    wrong += look(page, "refused")
    assert page.locator("#weight").get_by_label("Why?").input_value() == "six in a year"
    page.locator("#weight").get_by_label("Weight").fill("150")
    page.locator("#weight").get_by_role("button").click()
    expect(page.locator("#effect")).to_contain_text("of 9 typical calls")
    wrong += look(page, "effect")
    page.get_by_role("button", name="Keep this change").click()
    expect(page.locator(".beside")).to_contain_text("150")
    wrong += look(page, "beside")
    file = small_shop.data / "layers" / "small.yaml"
    assert read_layer(file, "small").changes[0].why == "six in a year"
    page.get_by_label("Why take it back?").fill("a quiet month")
    page.get_by_role("button", name="Take back").click()
    expect(page.get_by_text("None: the pack is used as it came.")).to_be_visible()
    assert not file.exists()
    assert wrong == []
    page.close()
