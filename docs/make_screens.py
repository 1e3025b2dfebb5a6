"""Take the pictures of the pages, and draw the panel, for README and docs (``make screens``).

Run it after a change of the pages or of the packs. It needs Debian's chromium.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4

from playwright.sync_api import Browser, FloatRect, Locator, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from served import served
from tubside.guide.building import Front, build
from tubside.panel.drawing import indication_svg
from tubside.service.data_folder import open_data
from tubside.service.demo_shop import fill
from tubside.service.library import Library
from tubside.service.money.invoicing import bills_of
from tubside.service.money.quoting import quotes_of
from walking import Walk

PICTURES = Path(__file__).parent / "pictures"
CHROMIUM = "/usr/bin/chromium"
MODEL, LAMP, BLINKS = "aldermoor-tern", "pause", 6
SIZES = {"job-phone": (390, "h-belief"), "job-desk": (1280, "h-shows")}
"""Picture -> width [px], and the title of the plate that it ends with."""
NARROW, TALLEST = 560, 1500
"""Width [px] of a picture of a paper's page, and the most of a page's height that is shown."""
PHONE = 360
"""Width [px] of a picture of a customer's page."""


def draw_panel() -> None:
    """Write the front of a model with a lamp that blinks a count, as one SVG file."""
    panel = Library().model(MODEL).panel
    assert panel is not None
    counted = next(
        name
        for name in panel.indications
        if str(panel.lights(name).get(LAMP)) == f"{BLINKS} blinks"
    )
    (PICTURES / "panel.svg").write_text(indication_svg(panel, counted) + "\n", encoding="utf-8")


def take_screens(browser: Browser, data: Path) -> None:
    """Take a call, and take a picture of its job at each size."""
    with served(data) as shop:
        for name, (width, last) in SIZES.items():
            page = browser.new_page(viewport={"width": width, "height": 900})
            Walk(page, shop.address, by_axe=False).call(BLINKS)
            box = page.locator(f"[aria-labelledby={last}]").bounding_box()
            assert box is not None
            seen: FloatRect = {"x": 0, "y": 0, "width": width, "height": box["y"] + box["height"]}
            page.screenshot(path=PICTURES / f"{name}.png", clip=seen, full_page=True)
            page.close()


@contextmanager
def demo_shop(data: Path) -> Iterator[dict[str, str]]:
    """Fill the demo shop into a folder; picture -> the path of its page."""
    now, library = datetime.now(UTC), Library()
    store = open_data(data, lambda: now)
    jobs = fill(store, library, now, lambda: uuid4().hex)
    late = bills_of(store)[0]
    quote = next(found for job in jobs for found in quotes_of(store, job))
    store.close()
    yield {
        "quote": f"/quotes/{quote.id}",
        "invoice": f"/bills/{late.id}",
        "safety-test": f"/jobs/{late.job}/safety/record",
        "worth": f"/jobs/{quote.job}/worth",
        "figures": "/figures",
    }


def take_papers(browser: Browser, data: Path) -> None:
    """Take a picture of each page of the second half of a job, from the demo shop."""
    with demo_shop(data) as paths, served(data) as shop:
        for name, path in paths.items():
            page = browser.new_page(viewport={"width": NARROW, "height": 900})
            page.goto(f"{shop.address}{path}")
            _picture(page, name)
            page.close()


def take_day(browser: Browser, data: Path) -> None:
    """Take a picture of the demo shop's day and of its kit, as they stand the day before."""
    morning = datetime.now().astimezone().replace(hour=8, minute=0) + timedelta(days=1)
    store = open_data(data, lambda: morning)
    fill(store, Library(), morning, lambda: uuid4().hex)
    store.close()
    on = morning.date().isoformat()
    paths = {"day": (f"/day/{on}", ".van"), "kit": (f"/parts/kit?day={on}", "h2:text-is('Load')")}
    with served(data) as shop:
        for name, (path, until) in paths.items():
            page = browser.new_page(viewport={"width": NARROW, "height": 900})
            # what each job may need is worked out first, one after the other
            while "refresh" in page.request.get(f"{shop.address}{path}", timeout=0).headers:
                pass
            page.goto(f"{shop.address}{path}")
            page.locator(until).first.wait_for()
            _picture(page, name)
            page.close()


def take_own_check(browser: Browser, data: Path) -> None:
    """Take the customer's own check from the front door: picking the machine, and a step."""
    with served(data) as shop:
        page = browser.new_page(viewport={"width": PHONE, "height": 900})
        page.set_default_timeout(60_000)
        page.goto(f"{shop.address}/own-check")
        link = page.input_value("textarea").rpartition("/check/")[2]
        page.goto(f"{shop.address}/check/{link}")
        page.click("text=No, none of these")
        page.wait_for_selector("input[name=phone]")
        _top(page, "own-check-machine")
        page.check("input[value='model:brackwater-wren']")
        page.fill("input[name=phone]", "01632 960 113")
        page.click("text=Go on")
        page.click("button[name=first][value=wont_drain]")
        page.wait_for_selector(".drawing")
        _top(page, "own-check-step")
        page.close()


def take_guide(browser: Browser, folder: Path) -> None:
    """Take the start of the guide, and an answer from its steps on."""
    shop = Front("Mill Lane Laundry Repairs", "01632 960100", "NZ")
    build(folder, Library(), shop)
    page = browser.new_page(viewport={"width": PHONE, "height": 900})
    page.goto(f"file://{folder}/index.html")
    _top(page, "guide-start")
    page.goto(f"file://{folder}/machine-brackwater-wren-three-six.html#answer")
    page.locator(".picture .moving").wait_for()
    _top(page, "guide-answer", from_=page.locator("#answer"))
    page.close()


def _top(page: Page, name: str, from_: Locator | None = None) -> None:
    """Take so much of a page as two screens of a telephone hold."""
    box = None if from_ is None else from_.bounding_box()
    top = 0.0 if box is None else page.evaluate("scrollY") + box["y"]
    rest = float(page.evaluate("document.documentElement.scrollHeight")) - top
    seen: FloatRect = {"x": 0, "y": top, "width": PHONE, "height": min(TALLEST, rest)}
    page.screenshot(path=PICTURES / f"{name}.png", clip=seen, full_page=True)


def _picture(page: Page, name: str) -> None:
    height = min(TALLEST, int(page.evaluate("document.documentElement.scrollHeight")))
    rounds = page.locator(".van").all()
    last = rounds[-1].bounding_box() if rounds else None
    if last is not None:  # a day is shown by its rounds alone
        height = min(height, round(last["y"] + last["height"]))
    seen: FloatRect = {"x": 0, "y": 0, "width": NARROW, "height": height}
    page.screenshot(path=PICTURES / f"{name}.png", clip=seen, full_page=True)


def main() -> None:
    """Write every picture."""
    draw_panel()
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        take_screens(browser, Path(folder) / "shop")
        take_papers(browser, Path(folder) / "demo")
        take_day(browser, Path(folder) / "day")
        take_own_check(browser, Path(folder) / "checks")
        take_guide(browser, Path(folder) / "guide")
        browser.close()


if __name__ == "__main__":
    main()
