"""Time of a job's view and of the list of jobs, with a thousand jobs stored."""

from __future__ import annotations

import asyncio
import itertools
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from timing import line, median_ms

from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_lines, job_view, new_job, record, record_advice
from tubside.service.library import Library
from tubside.service.records import (
    Body,
    CheckDone,
    DangerTold,
    Indication,
    Machine,
    Payer,
    Reported,
)
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

JOBS = 1000
START = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)
CALL: list[Body] = [
    DangerTold(),
    Machine(model="aldermoor-tern", age_years=9),
    Indication(lamps={"pause": "3 blinks"}),
    Reported(when="drain", how_often="every-time"),
    Payer(who="customer"),
]
CHECKS: list[Body] = [
    CheckDone(check="foam", outcome=outcome, by="customer", again=True)
    for outcome in ("none", "some", "not sure", "could not look")
]


def report() -> Iterator[str]:
    """Rows for a store of a thousand jobs with a dozen facts each."""
    ticks, names = itertools.count(), itertools.count()
    author = Author(
        "server",
        lambda: START + timedelta(seconds=next(ticks)),
        lambda: f"fact-{next(names):07}",
    )
    with tempfile.TemporaryDirectory() as folder:
        store, library = open_data(Path(folder), author.clock), Library()
        jobs = [new_job(store, author, [*CALL, *CHECKS, *CALL[:3]]) for _ in range(JOBS)]
        record_advice(store, library, jobs[500], author)
        yield _row("the job page, from request to answer", _asked(store, library, jobs[500]), 50)
        yield _row("a job's view, advice kept", lambda: job_view(store, library, jobs[500]), 50)
        yield _row("the list of jobs, 50 lines", lambda: job_lines(store, library), 50)
        yield _row("a fact, until it is on disk", lambda: _fact(store, jobs[7], author), 50)
        store.close()


def _row(what: str, work: object, wanted: float) -> str:
    took = median_ms(work)  # type: ignore[arg-type]
    return line(f"{what}, {JOBS} jobs stored", took, "ms", f"<= {wanted:.0f} ms")


def _asked(store: Store, library: Library, job: str) -> Callable[[], None]:
    """The job page asked for straight at the app, behind all its guards."""
    app = create_app(Guarding(frozenset({"shop"})), store, library, lambda: START)
    client = httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://shop")

    def ask() -> None:
        answer = asyncio.run(client.get(f"/jobs/{job}"))
        assert answer.status_code == 200
        assert 'id="step"' in answer.text

    return ask


def _fact(store: Store, job: str, author: Author) -> str:
    return record(store, job, author, Payer(who="insurer"))
