"""The day in a real browser at 390 px: visits booked from jobs, moved, and one squeezed in."""

from __future__ import annotations

import os
import re
from datetime import date, timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser

SHOTS = os.environ.get("TUBSIDE_SHOTS")
ON = (date.today() + timedelta(days=2)).isoformat()  # noqa: DTZ011  # the day where the shop is
TODAY = date.today().isoformat()  # noqa: DTZ011  # the day where the shop is
HELD = "async (path) => Boolean(await (await caches.open('copies')).match(path))"
IDA = {"do": "technician", "name": "ida", "start": "52.1, 0.25"}
HOURS = {"begins": "08:00", "finishes": "17:00"}
FRAMES = {"390": (390, 844), "320": (320, 700), "1280": (1280, 900)}


def send(page: Page, shop: Served, path: str, told: dict[str, str]) -> str:
    """Send a form as a browser without scripts does; the address it leads to."""
    form: dict[str, str | float | bool] = {**told}
    answer = page.request.post(f"{shop.address}{path}", form=form, headers={"origin": shop.address})
    assert answer.ok, answer.text()
    return answer.url.removeprefix(shop.address)


def job_of(page: Page, shop: Served, name: str, place: str) -> str:
    """Take a call about a front-loader of somebody who lives at a place; the job's path."""
    found = re.search(r"/jobs/[^/]+", send(page, shop, "/call", {"danger": "none"}))
    assert found is not None
    send(page, shop, f"{found[0]}/machine", {"machine": "family:front_load"})
    send(page, shop, f"{found[0]}/trouble", {"first": "wont_drain"})
    person = {"do": "keep", "name": name, "place": place, "phone": "01632 960999"}
    send(page, shop, f"{found[0]}/person", person)
    return found[0]


def press(page: Page, text: str) -> None:
    """Press what says so, and wait for the page it leads to."""
    with page.expect_navigation(wait_until="load"):
        page.get_by_role("button", name=text, exact=True).filter(visible=True).first.click()


def book(page: Page, shop: Served, job: str, begins: str, ends: str) -> None:
    """Book the visit by the form of its job's page, the fee agreed to."""
    page.goto(f"{shop.address}{job}")
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true })")
    form = page.locator(f"form[action='{job}/visit']")
    form.locator("[name=fee]").fill("48")
    form.locator("[name=agreed]").check()
    for name, value in (("day", ON), ("from", begins), ("until", ends)):
        form.locator(f"[name={name}]").fill(value)
    with page.expect_navigation(wait_until="load"):
        form.get_by_role("button", name="Book the visit").click()


def names(page: Page) -> list[str]:
    """The customers in the order of the round."""
    return page.locator(".visit h3").all_inner_texts()


def until_held(page: Page, path: str) -> None:
    """Wait until the phone holds a page; a function of the page that waits is true at once."""
    for _ in range(200):
        if page.evaluate(HELD, path):
            return
        page.wait_for_timeout(100)
    pytest.fail(f"{path} is not held after twenty seconds")


def drag(page: Page, which: int, onto: int) -> None:
    """Drag a visit by its number onto the upper edge of another."""
    numbers, visits = page.locator(".visit .no"), page.locator(".visit")
    numbers.nth(which).scroll_into_view_if_needed()
    start, end = numbers.nth(which).bounding_box(), visits.nth(onto).bounding_box()
    assert start is not None
    assert end is not None
    page.mouse.move(start["x"] + 20, start["y"] + 20)
    page.mouse.down()
    page.mouse.move(start["x"] + 20, end["y"] + 30, steps=4)
    page.mouse.move(start["x"] + 20, end["y"] + 8)
    with page.expect_navigation(wait_until="load"):
        page.mouse.up()


def test_a_day_is_booked_moved_and_squeezed_into(chromium: Browser, shop: Served) -> None:
    """Tests the way of a day on a phone, that it fits, passes axe, and is held without signal."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    send(page, shop, "/day-settings", {**IDA, **HOURS})
    for name, place, window in (
        ("Adaline", "52.11, 0.26", ("09:00", "10:00")),
        ("Bertram", "52.13, 0.22", ("13:00", "14:00")),
    ):
        book(page, shop, job_of(page, shop, name, place), *window)
    job_of(page, shop, "Cyril", "52.2, 0.4")
    page.goto(f"{shop.address}/day/{ON}")
    assert names(page) == ["Adaline", "Bertram"]
    assert page.get_by_text(re.compile(r"late with")).count() == 2
    page.locator(".visit summary").nth(1).click()
    press(page, "Earlier")
    assert names(page) == ["Bertram", "Adaline"]
    expect(page.locator("main")).to_contain_text("put in by hand")
    expect(page.locator(".late-high")).to_contain_text("ring ahead")
    press(page, "Back to the best order")
    assert names(page) == ["Adaline", "Bertram"]
    drag(page, 1, 0)
    assert names(page) == ["Bertram", "Adaline"]
    expect(page.locator("main")).to_contain_text("put in by hand")
    press(page, "Back to the best order")
    page.get_by_label("From").fill("10:30")
    page.get_by_label("Until").fill("12:30")
    press(page, "What would it cost?")
    expect(page.locator("#squeeze")).to_contain_text(re.compile(r"It costs \d+ minutes"))
    wrong = reading_of(page)
    press(page, "Book it so")
    assert names(page) == ["Adaline", "Cyril", "Bertram"]
    for name, (width, height) in FRAMES.items():
        page.set_viewport_size({"width": width, "height": height})
        wrong += reading_of(page)
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/day-{name}.png", full_page=True)
    assert wrong == []
    until_held(page, f"/day/{TODAY}")
    page.context.set_offline(True)
    page.goto(f"{shop.address}/day")
    expect(page.locator("h1")).to_contain_text(f"{date.fromisoformat(TODAY):%A}")
    page.close()
