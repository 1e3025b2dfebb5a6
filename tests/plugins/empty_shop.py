"""A browser without scripts at an empty shop, and a call taken in it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
from starlette.types import ASGIApp

from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

LIBRARY = Library()
"""The packs that come with the program, read once."""


@dataclass(frozen=True)
class Browser:
    """A browser without scripts, straight at the app."""

    app: ASGIApp

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(
        self,
        path: str,
        data: Mapping[str, str | list[str]] | None = None,
        files: Mapping[str, tuple[str, bytes]] | None = None,
    ) -> httpx.Response:
        """Send a form and follow where it leads."""
        return asked(self.app, "POST", path, data, files)


def clock() -> datetime:
    """A clock that stands still."""
    return datetime(2026, 3, 4, 9, 5, tzinfo=UTC)


def opened(folder: Path) -> Iterator[Browser]:
    """A browser at an empty shop in a folder, until it is left."""
    store = open_data(folder, clock)
    yield Browser(create_app(Guarding(frozenset({"testserver"})), store, LIBRARY, clock))
    store.close()


def call(client: Browser, machine: str = "family:top_load", trouble: str = "wont_drain") -> str:
    """Take a call without danger; the address of its job."""
    job = str(client.post("/call", data={"danger": "none"}).url.path).removesuffix("/machine")
    client.post(f"{job}/machine", data={"machine": machine})
    assert client.post(f"{job}/trouble", data={"first": trouble}).status_code == 200
    return job


def step_of(page: str) -> tuple[str, list[str], list[str]]:
    """Id of the step on the card, its cautions and its outcomes."""
    card = page[page.index('id="step"') : page.index("More to tell")]
    found = re.search(r'name="step" value="([^"]+)"', card)
    assert found is not None
    cautions = re.findall(r'name="caution" value="([^"]+)"', card)
    return found[1], cautions, re.findall(r'name="outcome" value="([^"]+)"', card)
