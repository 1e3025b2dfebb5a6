"""A clip of a panel, sent from the job's page, tapped on its picture and read, in a browser."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

import small_recordings
from served import Served
from walking import reading_of, tapped

pytestmark = pytest.mark.browser
PATIENCE_MS = 90_000
TAPPED = ("1", "3", "4", "6")


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of the demo's front-loader: lamp 3 flashes, lamp 6 is lit."""
    return small_recordings.ring_clip(tmp_path_factory.mktemp("clip") / "ring.mp4", seconds=3.5)


def begun(page: Page, shop: Served) -> str:
    """Open a job on the front-loader; the address of its recordings."""
    page.goto(f"{shop.address}/call")
    tapped(page, "text=None of these")
    tapped(page, "text=Brackwater Wren")
    tapped(page, "text=They can send a clip or a sound")
    return page.url


def test_recordings_without_a_model_in_a_browser(chromium: Browser, shop: Served) -> None:
    """Tests the way to them where no panel is known, and that their page fits a small phone."""
    page = chromium.new_page(viewport={"width": 320, "height": 800}, color_scheme="light")
    page.set_default_timeout(PATIENCE_MS)
    page.goto(f"{shop.address}/call")
    tapped(page, "text=None of these")
    tapped(page, '[name=machine][value="family:front_load"]')
    tapped(page, "text=They can send a sound")
    assert page.is_visible("text=How the tub swings")
    assert reading_of(page) == []
    page.close()


def on_picture(page: Page, lamp: str, near: tuple[float, float] | None) -> None:
    """Tap where a lamp is, on the whole picture or on the closer part around a place."""
    x, y = small_recordings.RING[lamp]
    at = x / small_recordings.WIDTH, y / small_recordings.HEIGHT
    if near is not None:
        at = ((at[0] - near[0] + 0.2) / 0.4, (at[1] - near[1] + 0.2) / 0.4)
    box = page.locator("input[type=image]").bounding_box()
    assert box is not None
    page.locator("input[type=image]").click(
        position={"x": at[0] * box["width"], "y": at[1] * box["height"]}
    )


@pytest.mark.parametrize(
    ("width", "script"), [(320, False), pytest.param(1280, True, marks=pytest.mark.soak)]
)
def test_a_clip_in_a_browser(
    chromium: Browser, shop: Served, clip: Path, width: int, *, script: bool
) -> None:
    """Tests upload, taps with and without a script, the reading, and each page on the way."""
    context = chromium.new_context(
        viewport={"width": width, "height": 800}, java_script_enabled=script, color_scheme="light"
    )
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    begun(page, shop)
    wrong = reading_of(page, by_axe=script)
    page.set_input_files("input[type=file]", clip)
    page.click("text=Send it")
    page.wait_for_selector("text=Tap the middle of the panel")
    wrong += reading_of(page, by_axe=script)
    page.click("text=Keep the whole picture")
    for lamp in TAPPED:
        page.locator(f"label:has(input[name=lamp][value='{lamp}'])").click()
        on_picture(page, lamp, None)
        page.wait_for_selector(f"text=Take lamp {lamp} away")
    wrong += reading_of(page, by_axe=script)
    page.click("text=Read the lamps")
    page.wait_for_selector("text=What the lamps do")
    wrong += reading_of(page, by_axe=script)
    assert "3: flashing" in page.inner_text("main")
    assert "6: steady" in page.inner_text("main")
    assert wrong == []
    page.click("text=Back to the job")
    page.wait_for_selector("text=Lamps on a clip")
    context.close()
