"""What a phone fetches of a job: the pocket, compressed, at the job's own address."""

from __future__ import annotations

import asyncio
import itertools
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.library import Library
from tubside.service.records import Machine, Reported
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

WHOLE, PLAIN = {"accept-encoding": "gzip"}, {"accept-encoding": "identity"}


def clock() -> datetime:
    """A clock that stands still."""
    return datetime(2026, 3, 4, 9, 5, tzinfo=UTC)


async def fetched(app: object, paths: list[tuple[str, dict[str, str]]]) -> list[httpx.Response]:
    """The answers to these requests."""
    transport = httpx.ASGITransport(app)  # type: ignore[arg-type]  # an app of ours
    async with httpx.AsyncClient(transport=transport, base_url="http://testserver") as client:
        return [await client.get(path, headers=headers) for path, headers in paths]


def test_the_pocket_is_fetched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that it comes compressed where that is taken, the same without, and 404 for no job."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))
    store, names = open_data(tmp_path, clock), itertools.count()
    author = Author("server", clock, lambda: f"made-{next(names):05}")
    job = new_job(store, author, [Machine(family="dryer"), Reported(conditions=["no_heat"])])
    app = create_app(Guarding(frozenset({"testserver"})), store, Library(), clock)
    path = f"/jobs/{job}/pocket.json"
    asked = [(path, WHOLE), (path, PLAIN), ("/jobs/no-such-job/pocket.json", PLAIN)]
    small, large, lost = asyncio.run(fetched(app, asked))
    store.close()
    assert small.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in large.headers
    assert small.headers["cache-control"] == "no-store"
    assert {it.headers["vary"].lower() for it in (small, large)} == {"accept-encoding"}
    assert small.json() == large.json()
    assert (large.json()["ready"], large.json()["job"]) == (True, job)
    assert lost.status_code == 404
