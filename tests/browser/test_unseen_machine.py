"""A machine never seen before at 390 px, three times over, and then its lamps are understood."""

from __future__ import annotations

import os

import pytest
from playwright.sync_api import Browser, Page

from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")
"""A folder for pictures of each page, when somebody wants to look at them."""


class Caller:
    """Somebody who takes calls, and reads the pages of the first one."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.address = address
        self.wrong: list[str] = []
        self.reads = True
        self.seen = 0

    def look(self) -> None:
        """Read the page as it stands."""
        if not self.reads:
            return
        self.wrong += reading_of(self.page)
        if SHOTS:
            self.seen += 1
            self.page.screenshot(path=f"{SHOTS}/unseen-{self.seen:02}.png", full_page=True)

    def press(self, css: str, text: str | None = None) -> None:
        """Press what leads on."""
        with self.page.expect_navigation():
            self.page.locator(css, has_text=text).filter(visible=True).first.click()

    def name(self, plate: str, *, hesitates: bool) -> None:
        """Settle the family by two questions; at first the customer does not know one."""
        self.page.goto(f"{self.address}/call")
        self.press("button[value=none]")
        self.look()
        if hesitates:
            self.page.check("input[name=does][value=washes]")
            self.press("#kind button.main-act")
            told = self.page.inner_text("#kind")
            assert "Not settled yet" in told
            assert "front-load washing machine, top-load washing machine" in told
            self.look()
        self.page.check("input[name=does][value=washes]")
        self.page.check("input[name=opening][value=front]")
        self.page.fill("input[name=plate]", plate)
        self.press("#kind button.main-act")

    def sketch(self) -> None:
        """Five lamps in a ring, the second of them blinking three times."""
        self.look()
        self.press("a", "sketch them")
        self.look()
        self.page.check("input[name=lamps][value='5']")
        self.page.check("input[name=layout][value=ring]")
        self.press("button", "Go on")
        self.look()
        self.page.select_option("select[name='lamp.2']", "3 blinks")
        self.page.check("input[name=sound][value=pulses]")
        self.press("button", "Draw it")
        assert self.page.locator("#drawn animate").count() > 0
        assert "Lamp 2: 3 blinks, pulses" in self.page.inner_text("#drawn")
        self.look()

    def advice_and_close(self) -> str:
        """Trouble in plain words, advice, and the job closed; its address."""
        self.press("a", "Yes: go on")
        self.press("button[name=first][value=wont_drain]")
        assert self.page.locator("#step").is_visible()
        assert "Its meaning is not known yet" in self.page.inner_text("main")
        self.look()
        job = self.page.url
        advised = self.page.inner_text("#step h2")
        self.press("a", "Close the job")
        self.page.locator("input[name=cause][value=pump-object]").check(force=True)
        self.page.check("input[name=confirmed_by][value=re-run]")
        self.press("button.main-act", "Close the job")
        self.look()
        assert advised
        return job


def test_three_jobs_teach_what_it_means(chromium: Browser, shop: Served) -> None:
    """Tests a call with no model up to a fourth one whose indication is understood."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    page.set_default_timeout(30_000)
    who = Caller(page, shop.address)
    for plate in ("Kestrel 520", "KESTREL520", "kestrel-520"):
        who.name(plate, hesitates=who.reads)
        who.sketch()
        who.advice_and_close()
        who.reads = False
    who.reads = True
    page.goto(f"{shop.address}/models")
    told = page.inner_text("#meanings")
    assert "3 of 3 jobs" in told
    assert "Lamp 2: 3 blinks" in told
    page.locator("#meanings summary").click()
    assert page.inner_text("#meanings").count("the re-run passed") == 3
    who.look()
    who.press("#meanings button[value=accept]")
    assert "Own jobs, 3 of 3 (re-run passed 3)" in page.inner_text("main")
    who.look()
    page.goto(f"{shop.address}/models")
    assert page.locator("#meanings").count() == 0
    who.reads = False
    who.name("Kestrel-520", hesitates=False)
    page.goto(f"{page.url.rpartition('/')[0]}/panel")
    who.press("button[name=picked]")
    told = page.inner_text("main").lower()
    assert "2: 3 blinks" in told
    assert "reads as" in told
    assert page.locator("#step").is_visible()
    assert who.wrong == []
    page.close()


@pytest.mark.soak
def test_a_sketch_becomes_a_draft_with_one_tap(chromium: Browser, shop: Served) -> None:
    """Tests at 320 px in the dark that a sketch is taught, beginning with what was seen."""
    page = chromium.new_page(viewport={"width": 320, "height": 700}, color_scheme="dark")
    page.set_default_timeout(30_000)
    who = Caller(page, shop.address)
    who.name("Plover 7", hesitates=True)
    who.sketch()
    who.press("a", "Yes: go on")
    who.press("button[name=first] >> nth=0")
    who.press("button", "Teach this model")
    assert page.input_value("select[name='lamp.1']") == "3 blinks"
    assert page.is_checked("input[name=sound][value=pulses]")
    who.look()
    page.check("input[name=condition][value=wont_drain]")
    who.press("button", "Add this")
    who.press("a", "That is all")
    who.press("button", "Keep this model")
    assert "PLOVER-7" in page.inner_text("main")
    assert who.wrong == []
    page.close()
