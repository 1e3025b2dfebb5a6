"""Time of the page of the shop's figures, with ten thousand jobs of half a year, each paid.

The list at hand is timed on the same store: it looks through closed jobs for a missing test.
"""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import numpy as np
from sqlalchemy import insert
from timing import line, median_ms

from tubside.service.data_folder import open_data
from tubside.service.figures import figures
from tubside.service.library import Library
from tubside.service.records import Body, CameBack, Closing, Machine, Place, encoded, kind_of
from tubside.service.safety_settings import choose_country
from tubside.store.opening import Store
from tubside.store.tables import FACTS, JOBS, PAYMENTS
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

JOBS_MADE, A_BATCH = 10_000, 5_000
NOW = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)
HALF_A_YEAR = 60 * 24 * 180
CLOSED = Closing(causes=["pump-object"], confirmed_by="re-run")
ONCE: list[tuple[int, Body]] = [(0, Machine(family="front_load")), (10, Place(where="site"))]
TWICE: list[tuple[int, Body]] = [*ONCE, (60, Place(where="phone")), (3000, Place(where="site"))]


def report() -> Iterator[str]:
    """Rows for counting alone and for the whole page."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_data(Path(folder), lambda: NOW)
        fill(store)
        told = figures(store, NOW)
        cents = sum(week.takings for week in told.weeks)
        seen = f"{told.closed} jobs closed, {cents / 100:,.2f} taken"
        yield line("figures counted", median_ms(lambda: figures(store, NOW)), "ms", "-", seen)
        app = create_app(Guarding(frozenset({"testserver"})), store, Library(), lambda: NOW)
        transport = httpx.ASGITransport(app)

        async def ask(path: str) -> int:
            async with httpx.AsyncClient(transport=transport, base_url="http://testserver") as one:
                return (await one.get(path)).status_code

        shown = median_ms(lambda: asyncio.run(ask("/figures")))
        yield line("the page of figures", shown, "ms", "<= 300 ms")
        choose_country(store, "NZ")
        listed = median_ms(lambda: asyncio.run(ask("/")))
        yield line("the list at hand", listed, "ms", "-", "with the look for missing tests")
        store.close()


def fill(store: Store) -> None:
    """Keep jobs by chance, one in three visited twice and one in twenty come back."""
    chance = np.random.default_rng(1)
    jobs: list[dict[str, object]] = []
    facts: list[dict[str, object]] = []
    for number in range(JOBS_MADE):
        start = NOW - timedelta(minutes=int(chance.integers(HALF_A_YEAR)))
        told = list(TWICE if chance.random() < 0.3 else ONCE)
        told.append((told[-1][0] + int(chance.integers(20, 90)), CLOSED))
        told += [(told[-1][0] + 9000, CameBack())] if chance.random() < 0.05 else []
        name = f"job-{number:06}"
        row = {"id": name, "opened_at": start, "last_at": start, "stage": "closed"}
        jobs.append({**row, "closed": True, "trouble": "{}", "danger": False})
        facts += [_fact(name, start + timedelta(minutes=at), body) for at, body in told]
    paid = [_payment(row, int(chance.integers(4_000, 40_000))) for row in jobs]
    for place, fact in enumerate(facts):
        fact |= {"id": f"fact-{place:07}", "sequence": place + 1}
    with store.writing() as opened:
        opened.execute(insert(JOBS), jobs)
        opened.execute(insert(PAYMENTS), paid)
        for place in range(0, len(facts), A_BATCH):
            opened.execute(insert(FACTS), facts[place : place + A_BATCH])


def _payment(row: dict[str, object], cents: int) -> dict[str, object]:
    job, at = row["id"], row["opened_at"]
    assert isinstance(at, datetime)
    told = {"id": f"paid-{job}", "job": job, "bill": None, "cents": cents, "rounding": 0}
    way = {"way": "card", "reverses": None, "paid_on": at.date().isoformat(), "kept_at": at}
    return {**told, **way}


def _fact(job: str, at: datetime, body: Body) -> dict[str, object]:
    told = {"job": job, "device": "server", "at": at, "seen": "{}", "received_at": at}
    return {**told, "kind": kind_of(body), "body": encoded(body)}
