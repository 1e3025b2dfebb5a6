"""What is not yet sent: told on every page, sent when a page is looked at, kept for good."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from phones import ADD, all_sent, call, phone_of
from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser
PAYER = {"kind": "payer", "who": "insurer"}
SEEN = """(state) => {
  Object.defineProperty(document, 'visibilityState', {value: state, configurable: true});
  document.dispatchEvent(new Event('visibilitychange'));
}"""
HASTY = """() => {
  const real = setTimeout;
  window.setTimeout = (work, ms, ...more) => real(work, ms >= 15000 ? 600 : ms, ...more);
}"""
REFUSES = """() => {
  navigator.storage.persist = async () => {
    localStorage.setItem('asked', Number(localStorage.getItem('asked') || 0) + 1);
    return false;
  };
  navigator.storage.persisted = async () => false;
}"""


def test_pages_without_signal_tell_what_waits(chromium: Browser, shop: Served) -> None:
    """Tests the count on both pages of the worker, its link, and that it goes once sent."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    page.reload()
    context.set_offline(True)
    page.goto(f"{shop.address}/parts")
    expect(page.locator("h1")).to_have_text("No signal")
    expect(page.locator("#unsent")).to_have_text(re.compile("^no signal"))
    page.evaluate(ADD, [job, PAYER])
    page.goto(f"{shop.address}{job}/panel")
    page.click("button[name=keep]")
    expect(page.locator("h1")).to_have_text("That did not work")
    expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    assert reading_of(page) == []
    page.goto(f"{shop.address}/parts")
    expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    page.click("#unsent a")
    expect(page.locator("#outbox li")).to_have_count(1)
    page.goto(f"{shop.address}/parts")
    context.set_offline(False)
    all_sent(page)
    context.close()


def kept_back(page: Page, job: str) -> None:
    """Keep a fact on the phone whose sending fails, though the browser sees a signal."""
    all_sent(page)  # forms of the call may have been slow
    page.route("**/sync", lambda route: route.abort())
    page.evaluate(ADD, [job, PAYER])
    page.evaluate("dispatchEvent(new Event('told-here'))")
    expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    page.unroute("**/sync")


@pytest.mark.soak  # the worker may send it first, as it also should
def test_what_waits_is_sent_when_the_page_is_seen_again(chromium: Browser, shop: Served) -> None:
    """Tests that a page in the background sends nothing, and all when it is looked at."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    kept_back(page, job)
    page.evaluate(SEEN, "hidden")
    page.wait_for_timeout(500)
    expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    with page.expect_response("**/sync", timeout=5_000):  # before it is tried again by itself
        page.evaluate(SEEN, "visible")
    all_sent(page)
    context.close()


@pytest.mark.soak
def test_what_waits_is_tried_again_by_itself(chromium: Browser, shop: Served) -> None:
    """Tests that a page whose browser saw a signal all the while tries again, with no event."""
    context = phone_of(chromium)
    page = context.new_page()
    page.add_init_script(f"({HASTY})()")
    job = call(page, shop.address)
    kept_back(page, job)
    all_sent(page)
    context.close()


def test_a_browser_is_asked_once_to_keep_what_waits(chromium: Browser, shop: Served) -> None:
    """Tests that it is asked with the first job that is held, and never after a refusal."""
    context = phone_of(chromium)
    page = context.new_page()
    page.add_init_script(f"({REFUSES})()")
    page.goto(f"{shop.address}/offline")
    expect(page.locator("#lasting")).to_contain_text("has not been asked yet")
    call(page, shop.address)
    for _ in range(2):
        page.goto(f"{shop.address}/offline")
        page.reload()
        expect(page.locator("#lasting")).to_contain_text("was asked")
        assert page.evaluate("localStorage.getItem('asked')") == "1"
    assert reading_of(page) == []
    context.close()
