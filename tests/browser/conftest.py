"""Debian's Chromium and a served shop for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from served import Served, served

CHROMIUM = Path("/usr/bin/chromium")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A browser for one file of tests: its event loop must end before other tests begin."""
    if not CHROMIUM.exists():
        pytest.skip("Debian's chromium is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """An empty shop, served by a process of its own."""
    with served(Path(tmp_path_factory.mktemp("shop"))) as running:
        yield running
