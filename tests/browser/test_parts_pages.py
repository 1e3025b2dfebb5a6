"""Parts, kit, order and scanning in a real browser: they fit, can be tapped, and read bars."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, FilePayload

from served import Served
from walking import reading_of, tapped

pytestmark = pytest.mark.browser
LIST = (
    "number,title,kinds,barcode,supplier,price,lead_days,place,units\n"
    "DP-1,Drain pump,front_load/drain-pump,501,Fenn Parts,24.50,2,workshop,2\n"
    "LS-1,Lid switch with a rather long name that must break,top_load/lid-switch,,,,,,\n"
)
PAGES = ("/parts", "/part/DP-1", "/parts/order?target=99", "/parts/import", "/parts/scan",
         "/parts/kit?day=2026-03-04")  # fmt: skip
CAMERA = """
window.BarcodeDetector = class { async detect() { return [{ rawValue: "501" }]; } };
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  setInterval(() => pen.fillRect(0, 0, Math.random() * 90, 90), 50);
  return canvas.captureStream(20);
};
"""
"""A browser that reads barcodes, at a camera that always sees the same one: Debian's reads none."""


def bring_in(chromium: Browser, shop: Served) -> None:
    """Bring two parts in by the form."""
    page = chromium.new_page()
    page.goto(f"{shop.address}/parts/import")
    file = FilePayload(name="list.csv", mimeType="text/csv", buffer=LIST.encode())
    page.set_input_files("input[type=file]", files=file)
    tapped(page, "text=Bring it in")
    assert "The list is in" in page.inner_text("main")
    page.close()


def test_pages_of_parts(chromium: Browser, shop: Served) -> None:
    """Tests that each page fits a narrow phone, has large targets, and that axe finds nothing."""
    bring_in(chromium, shop)
    page = chromium.new_page(viewport={"width": 320, "height": 800})
    wrong = []
    for path in PAGES:
        page.goto(shop.address + path)
        page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
        wrong += reading_of(page)
    assert wrong == []
    page.close()


def test_scanning_with_the_camera(chromium: Browser, shop: Served) -> None:
    """Tests that a button stands beside the field only where bars are read, and finds the part."""
    bring_in(chromium, shop)
    plain = chromium.new_page()
    plain.goto(f"{shop.address}/parts")
    assert plain.locator("text=Scan with the camera").count() == 0
    plain.close()
    page = chromium.new_page()
    page.add_init_script(CAMERA)
    page.goto(f"{shop.address}/parts")
    page.click("text=Scan with the camera")
    page.wait_for_url("**/part/DP-1")
    assert "Drain pump" in page.inner_text("h1")
    page.close()
