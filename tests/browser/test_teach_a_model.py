"""A newcomer at 390 px teaches a panel from a photo at an angle, and takes a call on it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from angled import CORNERS, LAMPS, SIZE, photo_at_an_angle
from served import Served
from tubside.panel.sketch import MARGIN, front_size
from tubside.service.shop_models import ShopModels
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")
"""A folder for pictures of each page, when somebody wants to look at them."""
SHOWS = (
    ("no_water", {0: "flashing", 3: "steady"}),
    ("wont_drain", {1: "flashing", 4: "steady"}),
    ("out_of_balance", {2: "3 blinks"}),
    ("suds", {2: "4 blinks"}),
    ("door_not_locked", {5: "steady"}),
)


class Newcomer:
    """Somebody who taps through the pages of teaching, and reads each of them."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.wrong: list[str] = []
        self.seen = 0

    def look(self) -> None:
        """Read the page as it stands."""
        self.wrong += reading_of(self.page)
        if SHOTS:
            self.seen += 1
            self.page.screenshot(path=f"{SHOTS}/{self.seen:02}.png", full_page=True)

    def tap(self, x: float, y: float) -> None:
        """Tap the picture at shares of its width and height."""
        box = self.page.locator(".tap-photo").bounding_box()
        assert box is not None
        with self.page.expect_navigation():
            place = {"x": x * box["width"], "y": y * box["height"]}
            self.page.locator(".tap-photo").click(position=place)  # type: ignore[arg-type]  # a place

    def go(self, words: str) -> None:
        """Press what says so."""
        with self.page.expect_navigation():
            self.page.locator("button, a", has_text=words).filter(visible=True).first.click()


def teach(who: Newcomer, address: str, photo: Path) -> None:
    """From the list of models to one that is kept."""
    page = who.page
    page.goto(f"{address}/models")
    who.look()
    who.go("Teach a model")
    page.fill("input[name=name]", "Shop One")
    page.locator(".pick", has_text="Front-load").click()
    page.set_input_files("input[name=photo]", photo)
    who.look()
    who.go("Go on")
    who.look()
    for x, y in CORNERS:
        who.tap(x / SIZE[0], y / SIZE[1])
    who.look()
    page.fill("input[name=wide]", "40")
    page.fill("input[name=high]", "18")
    who.go("Make it straight")
    for place in on_the_straight_photo(page):
        who.tap(*place)
    who.look()
    who.go("All lamps are there")
    for condition, lights in SHOWS:
        for lamp, words in lights.items():
            page.select_option(f'select[name="lamp.{lamp}"]', words)
        page.check(f"input[value={condition}]")
        who.go("Add this")
    with page.expect_navigation():
        page.locator("button[value='up:4']").click()
    who.look()
    who.go("That is all")
    who.look()
    who.go("Keep this model")
    who.look()


def on_the_straight_photo(page: Page) -> list[tuple[float, float]]:
    """Where a person sees the lamps on the straightened photo: the middles of its red discs."""
    seen = page.evaluate("""async () => {
      const it = document.querySelector('.tap-photo'), image = new Image();
      image.src = it.src; await image.decode();
      const canvas = document.createElement('canvas');
      [canvas.width, canvas.height] = [image.width, image.height];
      const pen = canvas.getContext('2d'); pen.drawImage(image, 0, 0);
      const data = pen.getImageData(0, 0, image.width, image.height).data, found = [];
      for (let y = 0; y < image.height; y++) for (let x = 0; x < image.width; x++) {
        const at = 4 * (y * image.width + x);
        if (data[at] < 150 || data[at + 1] > 110) continue;
        let near = found.find((o) => Math.hypot(o.x / o.n - x, o.y / o.n - y) < 50);
        if (!near) found.push(near = {x: 0, y: 0, n: 0});
        near.x += x; near.y += y; near.n++;
      }
      return found.map((o) => [(o.x / o.n + .5) / image.width, (o.y / o.n + .5) / image.height]);
    }""")
    assert len(seen) == len(LAMPS)
    return sorted((float(x), float(y)) for x, y in seen)


def test_a_newcomer_teaches_a_panel(chromium: Browser, shop: Served, tmp_path: Path) -> None:
    """Tests that lamps come within 2 % of the panel's width, and a first call works on them."""
    photo = tmp_path / "panel.jpg"
    photo.write_bytes(photo_at_an_angle(with_place=True))
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.set_default_timeout(30_000)
    who = Newcomer(page)
    teach(who, shop.address, photo)
    panel = ShopModels(shop.data / "models").read("shop-one")
    width, height = front_size(40 / 18)
    for lamp, (x, y) in zip(panel.lamps.values(), LAMPS, strict=True):
        across = (lamp.x - MARGIN) / (width - 2 * MARGIN) - x
        down = ((lamp.y - MARGIN) / (height - 2 * MARGIN) - y) * 18 / 40
        assert (across**2 + down**2) ** 0.5 < 0.02
    who.go("Practise: which one")
    who.look()
    with page.expect_navigation():
        page.locator("button[name=answer]").first.click()
    who.look()
    first_call(who, shop.address)
    assert who.wrong == []
    context.close()


def first_call(who: Newcomer, address: str) -> None:
    """A call on the model just taught: the customer sees lamp 2 flashing and lamp 5 steady."""
    page = who.page
    page.goto(f"{address}/call")
    for css in ("button[value=none]", "button[value='model:shop-one']"):
        with page.expect_navigation():
            page.locator(css).click()
    page.goto(f"{page.url.rpartition('/')[0]}/panel")
    who.look()
    for lamp in ("2", "2", "5"):
        page.locator(f"button.lamp[value='{lamp}']").click()
    page.locator("button[name=rest]").click()
    who.go("That is what it shows")
    who.look()
    told = page.inner_text("main")
    assert "2 flashing, 5 steady" in told
    assert "water stays in" in told.lower()


def test_the_narrowest_page(chromium: Browser, shop: Served, tmp_path: Path) -> None:
    """Tests at 320 px in the dark that pictures to tap fit, and that places can be typed."""
    photo = tmp_path / "panel.jpg"
    photo.write_bytes(photo_at_an_angle())
    page = chromium.new_page(viewport={"width": 320, "height": 700}, color_scheme="dark")
    page.set_default_timeout(30_000)
    who = Newcomer(page)
    page.goto(f"{shop.address}/models/new")
    page.fill("input[name=name]", "Shop Two")
    page.set_input_files("input[name=photo]", photo)
    who.go("Go on")
    page.locator("summary").click()
    page.fill("input[name=x]", "12.5")
    page.fill("input[name=y]", "28,75")
    who.go("Put it there")
    assert "3 of 4" in page.inner_text("main")
    who.look()
    page.goto(f"{shop.address}/models/new")
    page.fill("input[name=name]", "Shop Three")
    who.go("Go on")
    for x in (0.2, 0.5, 0.8):
        who.tap(x, 0.5)
    who.look()
    who.go("All lamps are there")
    who.look()
    assert who.wrong == []
