"""A technician at 390 px puts a coil on a model's sheet, and a reading says where it is from."""

from __future__ import annotations

import os

import msgspec
import pytest
from playwright.sync_api import Browser, Page

from served import Served
from tubside.pack.home import packs_folder
from tubside.service.model_file import read_model
from tubside.service.shop_models import ShopModels
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")
"""A folder for pictures of each page, when somebody wants to look at them."""


def look(page: Page, wrong: list[str], name: str) -> None:
    """Read the page as it stands."""
    wrong += reading_of(page)
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/sheet-{name}.png", full_page=True)


def press(page: Page, words: str) -> None:
    """Press what says so."""
    with page.expect_navigation():
        page.locator("button, a", has_text=words).filter(visible=True).first.click()


def tell_coil(page: Page, value: str) -> None:
    """Fill in the form for the valve coil."""
    page.select_option("select[name=name]", "valve_coil_resistance")
    page.fill("#tell input[name=value]", value)
    page.fill("#tell input[name=page]", "12")
    press(page, "Put it on the sheet")


def test_a_coil_of_12_kilo_ohms_is_asked_about(chromium: Browser, shop: Served) -> None:
    """Tests the question, the answer kept with its page, and the reading that says so."""
    models = ShopModels(shop.data / "models")
    shipped = read_model(packs_folder() / "front_load" / "models" / "brackwater-wren.yaml")
    models.keep(msgspec.structs.replace(shipped, model="own-one", name="Own One"))
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page, wrong = context.new_page(), list[str]()
    page.set_default_timeout(30_000)
    page.goto(f"{shop.address}/models/own-one")
    look(page, wrong, "model")
    press(page, "Its sheet")
    look(page, wrong, "empty")
    tell_coil(page, "12 kΩ")
    assert page.inner_text("h1") == "12 kΩ valve coil: do you mean 1.2 kΩ?"
    look(page, wrong, "question")
    with page.expect_navigation():
        page.locator("button.outcome", has_text="1.2 kΩ").click()
    assert "Valve coil: 1.2 kΩ" in page.inner_text("#told")
    assert "from your service sheet, p. 12" in page.inner_text("#told")
    page.select_option("select[name=part]", "inlet-valve")
    page.fill("#fit input[name=article]", "ML-1042")
    page.fill("#fit input[name=serial_from]", "A 1000")
    press(page, "Add this fit")
    look(page, wrong, "told")
    assert models.read("own-one").fits[0].article == "ML-1042"
    page.goto(f"{shop.address}/call")
    for css in (
        "button[name=danger][value=none]",
        "button[value='model:own-one']",
        "button[name=first][value=no_water]",
        "button[name=do][value=arrive]",
    ):
        with page.expect_navigation():
            page.locator(css).filter(visible=True).first.click()
    page.goto(f"{page.url.partition('#')[0]}/steps/valve-coil")
    look(page, wrong, "reading")
    said = page.inner_text(".sheet-says")
    assert said == "Reckoned with valve coil 1.2 kΩ from your service sheet, p. 12."
    assert wrong == []
    context.close()
