"""A server that is slow, in Chromium: what is held is shown, and nothing else is called lost."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Timer

import pytest
from playwright.sync_api import Browser, expect

from served import Served

pytestmark = [pytest.mark.browser, pytest.mark.soak]
PATIENCE_S = 10.0
"""Longer than the worker waits before it shows what is held."""


@contextmanager
def stopped(shop: Served) -> Iterator[None]:
    """Let the server stand still for a while, as a busy machine does."""
    shop.process.send_signal(signal.SIGSTOP)
    again = Timer(PATIENCE_S, shop.process.send_signal, [signal.SIGCONT])
    again.start()
    try:
        yield
    finally:
        again.join()


def test_a_slow_answer_is_waited_for(chromium: Browser, shop: Served) -> None:
    """Tests a page that no phone holds, and one that it does."""
    page = chromium.new_page()
    page.set_default_timeout(30_000)
    page.goto(shop.address)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.goto(shop.address)
    with stopped(shop):
        page.goto(f"{shop.address}/practise")
    expect(page.get_by_role("heading", name="Practise")).to_be_visible()
    with stopped(shop):
        page.goto(shop.address)
        expect(page.get_by_role("heading", name="Jobs at hand")).to_be_visible()
    page.close()
