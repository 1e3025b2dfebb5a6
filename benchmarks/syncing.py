"""A phone that finds signal: a thousand facts taken in; and what a job's page weighs at first."""

from __future__ import annotations

import asyncio
import gzip
import itertools
import re
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from timing import line

from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.library import Library
from tubside.service.records import Body, DangerTold, Indication, Machine, Reported
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

START = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)
FACTS, A_MESSAGE, JOBS = 1000, 200, 10
CALL: list[Body] = [
    DangerTold(),
    Machine(model="aldermoor-tern", age_years=9),
    Indication(lamps={"pause": "3 blinks"}),
    Reported(when="drain", how_often="every-time"),
]


def report() -> Iterator[str]:
    """Rows for a shop of one job and a phone that comes back."""
    names = itertools.count()
    author = Author("server", lambda: START, lambda: f"fact-{next(names):07}")
    with tempfile.TemporaryDirectory() as folder:
        store, library = open_data(Path(folder), author.clock), Library()
        job = new_job(store, author, CALL)
        app = create_app(Guarding(frozenset({"shop"})), store, library, lambda: START)
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app), base_url="http://shop", timeout=60.0
        )
        pages = asyncio.run(_weighed(client, job))
        yield line(
            "the job page with its files, first load, compressed", pages / 1000, "kB", "<= 200 kB"
        )
        took = asyncio.run(_sent(client))
        yield line(f"{FACTS} queued facts of {JOBS} jobs, all answered", took, "s", "<= 2 s")
        store.close()


async def _sent(client: httpx.AsyncClient) -> float:
    """Wall time until every message of a phone was answered [s]."""
    facts = [_fact(number) for number in range(1, FACTS + 1)]
    start = time.perf_counter()
    for first in range(0, FACTS, A_MESSAGE):
        told = {"device": "phone-benchmark", "facts": facts[first : first + A_MESSAGE]}
        answer = await client.post("/sync", json=told)
        assert {one["result"] for one in answer.json()["results"]} == {"kept"}
    return time.perf_counter() - start


def _fact(number: int) -> dict[str, object]:
    moment = START + timedelta(seconds=number)
    return {
        "id": f"queued-{number:05}",
        "job": f"queued-job-{number * JOBS // (FACTS + 1):02}",
        "sequence": number,
        "at": moment.isoformat(),
        "body": {"kind": "check", "check": "foam", "outcome": "none", "by": "customer"},
    }


async def _weighed(client: httpx.AsyncClient, job: str) -> int:
    """Bytes of the page and of all it loads at once, each as gzip makes it."""
    page = (await client.get(f"/jobs/{job}")).text
    total, wanted, done = (
        len(gzip.compress(page.encode())),
        re.findall(r'"(/static/[^"]+)"', page),
        set(),
    )
    while wanted:
        path = wanted.pop()
        if path in done:
            continue
        done.add(path)
        content = (await client.get(path)).content
        total += len(gzip.compress(content))
        wanted += re.findall(r'from "(/static/[^"]+)"', content.decode())
    return total
