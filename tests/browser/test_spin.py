"""The spin heard by a phone at the machine: sent, read and drawn, in a browser."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from made_sounds import FS, write
from made_spins import made_spin
from served import Served
from walking import Walk, reading_of

pytestmark = pytest.mark.browser


def test_a_spin_in_a_browser(chromium: Browser, shop: Served, tmp_path: Path) -> None:
    """Tests upload, reading and the number offered at 320 px; axe finds nothing on the way."""
    made = made_spin(8, 8.0)
    sound = write(tmp_path / "spin.m4a", made.wave[: 7 * FS])
    page = chromium.new_page(viewport={"width": 320, "height": 800}, color_scheme="light")
    page.set_default_timeout(90_000)
    walk = Walk(page, shop.address, by_axe=False)
    page.goto(f"{shop.address}/call")
    walk.press("button[name=danger][value=none]")
    walk.press("text=Brackwater Wren")
    walk.press("button[name=first][value=wont_drain]")
    page.locator("#step").wait_for()
    job = page.url.partition("#")[0]
    walk.press("button[name=do][value=arrive]")
    page.goto(f"{job}/steps/spin-speed")
    page.click("a[href$='/spin']")
    for box in page.locator(".caution input").all():
        box.check()
    wrong = reading_of(page)
    page.set_input_files("input[type=file]", sound)
    page.click("text=Send it")
    page.wait_for_selector("text=How it was read")
    wrong += reading_of(page)
    speed = float(page.inner_text("h1").split()[0])
    assert speed == pytest.approx(float(made.rpm.mean()), rel=0.01)
    assert page.locator("svg.chart .cv-0").count() == 1
    assert page.locator("button[value=use]").inner_text() == f"Peg {speed:g} rpm on the line"
    assert wrong == []
    page.close()
