"""A server that is slow, in Chromium: what is held is shown, and nothing else is called lost."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Timer

import pytest
from playwright.sync_api import Browser, expect

from phones import call, phone_of
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


def test_a_slow_page_of_a_job_is_no_job_without_signal(chromium: Browser, shop: Served) -> None:
    """Tests that a page of a job that is not held is waited for, beyond what a held one is."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    page.reload()
    page.set_default_timeout(60_000)
    with stopped(shop):
        page.goto(f"{shop.address}{job}/worth")
    expect(page.locator("main")).to_contain_text("What it assumes")
    context.set_offline(True)
    page.goto(f"{shop.address}{job}/quote")
    expect(page.locator("h1")).to_have_text("Job without signal")
    context.close()
