"""Two hundred technicians send what they told without signal, to several app processes.

Each process is the app behind uvicorn, and all share one PostgreSQL database, which the
environment names. Phones come at moments spread over some seconds, each more than once.
"""

from __future__ import annotations

import asyncio
import os
import random
import resource
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from statistics import quantiles

import httpx
from sqlalchemy import func, insert, select
from timing import line

from tubside.service.data_folder import open_data
from tubside.service.logins import digest
from tubside.store.tables import FACTS, SESSIONS, USERS

SERVER = "TUBSIDE_BENCH_POSTGRES"
PHONES, TIMES, FACTS_EACH, PROCESSES, OVER_S = 200, 3, 3, 2, 20.0
NOW = datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Sent:
    """How long each message waited for its answer [s], and how many facts were kept."""

    waited: list[float]
    kept: int


def report() -> Iterator[str]:
    """Rows for phones that come spread over time, and for all in one moment."""
    address = os.environ.get(SERVER)
    if address is None:
        yield f"left out: {SERVER} names no empty database"
        return
    _let_in(address)
    ports = [_free_port() for _ in range(PROCESSES)]
    order = [sys.executable, __file__]
    running = [subprocess.Popen([*order, str(port)]) for port in ports]  # noqa: S603  # itself
    try:
        asyncio.run(_up(ports))
        yield from _measured(address, ports)
    finally:
        for one in running:
            one.terminate()
            one.wait()
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    each = 1e3 * (used.ru_utime + used.ru_stime) / (PHONES * (TIMES + 1))
    yield line("CPU of the app for one message, start-up with it", each, "ms", "told")


def _measured(address: str, ports: list[int]) -> Iterator[str]:
    for first, times, over, how in (
        (0, TIMES, OVER_S, f"over {OVER_S:.0f} s"),
        (TIMES, 1, 0.0, "in one moment"),
    ):
        found = asyncio.run(_all_phones(ports, range(first, first + times), over))
        p95 = 1e3 * quantiles(found.waited, n=20)[-1]
        middle = 1e3 * quantiles(found.waited, n=2)[0]
        sent = PHONES * times * FACTS_EACH
        wanted = "<= 300 ms" if over else "told"
        yield line(f"{PHONES * times} messages {how}: p95", p95, "ms", wanted, f"half {middle:.0f}")
        yield line(f"{sent} facts sent {how}: kept", found.kept, "", str(sent))
    store = open_data(address, lambda: NOW)
    with store.reading() as opened:
        rows = opened.execute(select(func.count()).select_from(FACTS)).scalar() or 0
    store.close()
    all_sent = PHONES * (TIMES + 1) * FACTS_EACH
    yield line("facts in the database, advice not counted", rows, "", f">= {all_sent}")


async def _all_phones(ports: list[int], times: range, over: float) -> Sent:
    limits = httpx.Limits(max_connections=None)
    draws = random.Random(1)  # noqa: S311  # moments of arrival, no secret
    async with httpx.AsyncClient(timeout=60.0, limits=limits) as client:
        waiting = [
            _one(client, ports[phone % len(ports)], phone, turn, draws.uniform(0.0, over))
            for phone in range(PHONES)
            for turn in times
        ]
        found = await asyncio.gather(*waiting)
    return Sent([waited for waited, _ in found], sum(kept for _, kept in found))


async def _one(
    client: httpx.AsyncClient, port: int, phone: int, turn: int, after: float
) -> tuple[float, int]:
    """Wait for the answer [s] to one message, and the facts of it that were kept."""
    await asyncio.sleep(after)
    told = {
        "device": f"phone-benchmark-{phone:04}",
        "facts": [_fact(phone, turn, k) for k in range(3)],
    }
    cookie = {"cookie": f"tubside={_token(phone)}"}
    start = time.perf_counter()
    answer = await client.post(f"http://127.0.0.1:{port}/sync", json=told, headers=cookie)
    waited = time.perf_counter() - start
    assert answer.status_code == httpx.codes.OK, answer.text
    return waited, sum(one["result"] == "kept" for one in answer.json()["results"])


def _fact(phone: int, turn: int, which: int) -> dict[str, object]:
    sequence = 1 + turn * FACTS_EACH + which
    bodies: list[dict[str, object]] = [
        {"kind": "machine", "model": "aldermoor-tern", "age_years": 9},
        {"kind": "reported", "when": "drain", "how_often": "every-time"},
        {"kind": "check", "check": "foam", "outcome": "none", "by": "technician"},
    ]
    return {
        "id": f"fact-{phone:04}-{sequence:04}",
        "job": f"job-of-{phone:04}-{turn}",
        "sequence": sequence,
        "at": NOW.isoformat(),
        "body": bodies[which],
    }


def _token(phone: int) -> str:
    return f"token-of-the-phone-{phone:08}"


def _let_in(address: str) -> None:
    store = open_data(address, lambda: NOW)
    with store.writing() as opened:
        for phone in range(PHONES):
            name, token = f"technician-{phone}", digest(_token(phone))
            user = {"name": name, "role": "technician", "password": "none", "since": NOW}
            opened.execute(insert(USERS).values(user))
            session = {"token_hash": token, "id": f"session-{phone}", "user": name, "device": ""}
            opened.execute(insert(SESSIONS).values(**session, since=NOW, seen_at=NOW))
    store.close()


async def _up(ports: list[int]) -> None:
    async with httpx.AsyncClient() as client:
        for port in ports:
            while True:
                try:
                    await client.get(f"http://127.0.0.1:{port}/login")
                    break
                except httpx.TransportError:
                    await asyncio.sleep(0.2)


def _free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def _serve(port: int) -> None:
    import uvicorn  # noqa: PLC0415  # the child's work

    from tubside.service.library import Library  # noqa: PLC0415
    from tubside.web.app import create_app  # noqa: PLC0415
    from tubside.web.security.guarding import Guarding  # noqa: PLC0415

    def clock() -> datetime:
        return datetime.now(UTC)

    store = open_data(os.environ[SERVER], clock)
    guarding = Guarding(frozenset({"127.0.0.1"}), always_login=True)
    app = create_app(guarding, store, Library(), clock)
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="error")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        _serve(int(sys.argv[1]))
    else:
        for row in report():
            print(row, flush=True)
