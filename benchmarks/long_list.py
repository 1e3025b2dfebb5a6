"""The list of jobs of a shop with a hundred thousand: its first page, and one far down."""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

import httpx
from sqlalchemy import insert, text
from timing import line

from tubside.service.data_folder import open_data
from tubside.service.jobs import job_lines
from tubside.service.library import Library
from tubside.service.safety_settings import choose_country
from tubside.store.opening import Store
from tubside.store.tables import FACTS, JOBS, PEOPLE
from tubside.web.app import create_app
from tubside.web.pages.home import A_PAGE
from tubside.web.security.guarding import Guarding

NOW = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)
JOBS_IN_ALL, OPEN_OF, FAR_DOWN, BATCH, REPEATS = 100_000, 50, 1500, 5000, 9
COUNTRY = "GB"
SERVER = "TUBSIDE_BENCH_POSTGRES"
"""Address of an empty database, to measure on PostgreSQL as well."""
TOLD = (
    ("machine", '{"kind":"machine","model":"aldermoor-tern","age_years":9.0}'),
    ("reported", '{"kind":"reported","when":"drain","how_often":"every-time"}'),
    ("check", '{"kind":"check","check":"foam","outcome":"none","by":"customer"}'),
)


def report() -> Iterator[str]:
    """Rows for SQLite, and for PostgreSQL where an address is given."""
    with tempfile.TemporaryDirectory() as folder:
        yield from _of(Path(folder), "SQLite")
    if address := os.environ.get(SERVER):
        yield from _of(address, "PostgreSQL")


def _of(place: str | Path, kind: str) -> Iterator[str]:
    store, library = open_data(place, lambda: NOW), Library()
    fill(store)
    choose_country(store, COUNTRY)  # then jobs without their safety test are looked for
    app = create_app(Guarding(frozenset({"shop"})), store, library, lambda: NOW)
    for closed, words in ((False, "open"), (True, "closed")):
        far = job_lines(store, library, FAR_DOWN, closed=closed)[-1].id
        for after, where in (("", "first page"), (f"&after={far}", "far down")):
            wall, used = asyncio.run(_asked(app, f"/?closed={int(closed)}{after}"))
            yield line(
                f"{kind}, {JOBS_IN_ALL} jobs: the {words} ones, {where}",
                wall,
                "ms",
                "<= 100 ms",
                f"CPU {used:.0f} ms",
            )
    store.close()


async def _asked(app: Callable[..., object], path: str) -> tuple[float, float]:
    """Median wall and CPU time of a page [ms], the first time not counted."""
    transport = httpx.ASGITransport(app)  # type: ignore[arg-type]  # an ASGI app
    wall, used = [], []
    async with httpx.AsyncClient(transport=transport, base_url="http://shop") as client:
        for _ in range(1 + REPEATS):
            start, spent = time.perf_counter(), time.process_time()
            answer = await client.get(path)
            wall.append(time.perf_counter() - start)
            used.append(time.process_time() - spent)
            assert answer.status_code == httpx.codes.OK
            assert len(set(re.findall(r"/jobs/(job-\d+)", answer.text))) >= A_PAGE
    return 1e3 * median(wall[1:]), 1e3 * median(used[1:])


def fill(store: Store) -> None:
    """Put invented jobs into an empty store, one in fifty of them open."""
    for first in range(0, JOBS_IN_ALL, BATCH):
        numbers = range(first, first + BATCH)
        with store.writing() as opened:
            opened.execute(insert(PEOPLE), [_person(number) for number in numbers])
            opened.execute(insert(JOBS), [_job(number) for number in numbers])
            opened.execute(insert(FACTS), [_fact(n, k) for n in numbers for k in range(len(TOLD))])
    if store.file is None:
        with store.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as opened:
            opened.execute(text("ANALYZE"))  # as the server's own upkeep does in time


def _person(number: int) -> dict[str, object]:
    data = '{"name":"Ada Quill","address":"1 Mill Lane"}'
    return {"id": f"person-{number:06}", "data": data, "kept_at": NOW}


def _job(number: int) -> dict[str, object]:
    closed = number % OPEN_OF != 0
    return {
        "id": f"job-{number:06}",
        "opened_at": NOW,
        "last_at": NOW - timedelta(seconds=number * 61 % JOBS_IN_ALL),
        "stage": "closed" if closed else "call",
        "closed": closed,
        "family": "top_load",
        "model": "aldermoor-tern",
        "trouble": '{"reported":["wont_drain"],"indication":null}',
        "danger": False,
        "person": f"person-{number:06}",
        "leading": "pump-worn",
        "chance": 0.5,
    }


def _fact(number: int, which: int) -> dict[str, object]:
    kind, body = TOLD[which]
    return {
        "id": f"fact-{number:06}-{which}",
        "job": f"job-{number:06}",
        "device": "server",
        "sequence": 1 + number * len(TOLD) + which,
        "at": NOW,
        "seen": "{}",
        "kind": kind,
        "body": body,
        "received_at": NOW,
    }


if __name__ == "__main__":
    for row in report():
        print(row, flush=True)
