"""Copies that a phone forgets stay forgotten, in Chromium."""

from __future__ import annotations

import signal

import pytest
from playwright.sync_api import Browser

from phones import HELD, phone_of
from served import Served

pytestmark = pytest.mark.browser
ASK = """async (asks) => {
  const { active } = await navigator.serviceWorker.ready;
  for (const ask of asks) active.postMessage({ ask });
}"""
KEPT = f"async () => (await ({HELD})()).length >= 4"


def test_what_was_being_fetched_is_not_kept_after_a_logout(chromium: Browser, shop: Served) -> None:
    """Tests pages that are still under way when all copies are cleared, as at a logout."""
    context = phone_of(chromium)
    page = context.new_page()
    page.goto(shop.address)
    page.wait_for_function(KEPT)
    page.wait_for_timeout(500)  # what the page itself asked for has come
    shop.process.send_signal(signal.SIGSTOP)
    try:
        page.evaluate(ASK, ["refresh", "refresh"])
        page.wait_for_timeout(300)
        page.evaluate(ASK, ["clear"])
        page.wait_for_timeout(300)
    finally:
        shop.process.send_signal(signal.SIGCONT)
    page.wait_for_timeout(1500)
    assert page.evaluate(HELD) == []
    page.evaluate(ASK, ["refresh"])
    page.wait_for_function(KEPT)
    context.close()
