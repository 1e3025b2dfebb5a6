"""The page that brings old jobs in: columns and words told without a script, then kept."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from asking import NOON
from tubside.service.data_folder import open_data
from tubside.service.learning.bringing import brought_jobs
from tubside.service.library import Library
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

LINES = "Tag;Gerät;Fehler;Name\n3.2.2024;Front;Riemen;Ada\n13.2.2024;Front;Riemen;Bo\n"
OLD = LINES.encode("cp1252")
TOLD = {
    "columns": "told",
    "in-closed": "Tag",
    "in-family": "Gerät",
    "in-cause": "Fehler",
    "family:Front": "front_load",
}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store."""
    opened = open_data(tmp_path / "data", lambda: NOON)
    yield opened
    opened.close()


@pytest.fixture
def app(store: Store, tmp_path: Path) -> ASGIApp:
    """The app over it."""
    library = Library(None, tmp_path / "models", tmp_path / "layers")
    return create_app(Guarding(), store, library, lambda: NOON)


def send(app: ASGIApp, data: Mapping[str, str], content: bytes = OLD) -> httpx.Response:
    """Send the form with its file."""

    async def ask() -> httpx.Response:
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app),
            base_url="http://127.0.0.1:8321",
            headers={"origin": "http://127.0.0.1:8321"},
        )
        async with client:
            files = {"archive": ("old.csv", content)}
            return await client.post("/learning-bring", data=dict(data), files=files)

    return asyncio.run(ask())


def test_from_a_strange_list_to_jobs(app: ASGIApp, store: Store) -> None:
    """Tests each step: columns asked, words asked, looked at, kept once, taken out."""
    first = send(app, {"do": "try"})
    assert first.status_code == 200
    assert "Read as cp1252, parted by semicolon" in first.text
    assert '<select name="in-closed">' in first.text
    second = send(app, {"do": "try", **TOLD})
    assert 'name="cause:front_load/Riemen"' in second.text
    early = send(app, {"do": "keep"})
    assert (early.status_code, "nothing was kept" in early.text) == (422, True)
    third = send(app, {"do": "try", **TOLD, "cause:front_load/Riemen": "belt"})
    assert "The list is good; nothing was kept yet" in third.text
    assert brought_jobs(store) == ()
    kept = send(app, {"do": "keep"})
    assert "2 of them new" in kept.text
    assert {job.causes["belt"] for job in brought_jobs(store)} == {1_000_000}
    assert "0 of them new" in send(app, {"do": "keep"}).text
    anew = send(app, {"do": "try", **TOLD, "anew": "yes"})
    assert 'name="cause:front_load/Riemen"' in anew.text
    send(app, {"do": "out"})
    assert brought_jobs(store) == ()


def test_no_table(app: ASGIApp) -> None:
    """Tests that a file that is no table is refused with what to do."""
    found = send(app, {"do": "try"}, b"nothing at all")
    assert (found.status_code, "line of names comes first" in found.text) == (422, True)
