"""Two hundred technicians send what they told without signal, to several app processes.

Each process is the app behind uvicorn, and all share one PostgreSQL database, which the
environment names. Phones come at moments spread over some seconds, each more than once.
"""

from __future__ import annotations

import asyncio
import os
import random
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles

import msgspec
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
        asyncio.run(_all_phones(ports, range(1), 2.0))  # what is loaded on first use
        yield from _measured(address, ports, [one.pid for one in running])
    finally:
        for one in running:
            one.terminate()
            one.wait()


def _measured(address: str, ports: list[int], apps: list[int]) -> Iterator[str]:
    for first, times, over, how in (
        (1, TIMES, OVER_S, f"over {OVER_S:.0f} s"),
        (1 + TIMES, 1, 0.0, "in one moment"),
    ):
        before = _cpu_ms(apps)
        found = asyncio.run(_all_phones(ports, range(first, first + times), over))
        each = (_cpu_ms(apps) - before) / (PHONES * times)
        p95 = 1e3 * quantiles(found.waited, n=20)[-1]
        middle = 1e3 * quantiles(found.waited, n=2)[0]
        sent = PHONES * times * FACTS_EACH
        yield line(
            f"{PHONES * times} messages {how}: p95", p95, "ms", "<= 300 ms", f"half {middle:.0f}"
        )
        yield line(f"CPU of the app for one message {how}", each, "ms", "<= 4 ms")
        yield line(f"{sent} facts sent {how}: kept", found.kept, "", str(sent))
    store = open_data(address, lambda: NOW)
    with store.reading() as opened:
        rows = opened.execute(select(func.count()).select_from(FACTS)).scalar() or 0
    store.close()
    all_sent = PHONES * (TIMES + 2) * FACTS_EACH
    yield line("facts in the database, advice not counted", rows, "", f">= {all_sent}")


def _cpu_ms(apps: list[int]) -> float:
    """CPU that these processes have used so far [ms]; proc_pid_stat(5), fields 14 and 15."""
    tick = 1e3 / os.sysconf("SC_CLK_TCK")
    told = [Path(f"/proc/{app}/stat").read_text().rpartition(")")[2].split() for app in apps]
    return sum(tick * (int(one[11]) + int(one[12])) for one in told)


async def _all_phones(ports: list[int], times: range, over: float) -> Sent:
    draws = random.Random(1)  # noqa: S311  # moments of arrival, no secret
    waiting = [
        _one(ports[phone % len(ports)], _message(phone, turn), draws.uniform(0.0, over))
        for phone in range(PHONES)
        for turn in times
    ]
    found = await asyncio.gather(*waiting)
    return Sent([waited for waited, _ in found], sum(kept for _, kept in found))


async def _one(port: int, message: bytes, after: float) -> tuple[float, int]:
    """Wait for the answer [s] to one message, and the facts of it that were kept.

    The phones are elsewhere in truth, so here they cost this computer as little as can be.
    """
    await asyncio.sleep(after)
    start = time.perf_counter()
    incoming, outgoing = await asyncio.open_connection("127.0.0.1", port)
    outgoing.write(message)
    got = await incoming.read()
    waited = time.perf_counter() - start
    outgoing.close()
    head, _, body = got.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200"), got
    return waited, sum(one["result"] == "kept" for one in msgspec.json.decode(body)["results"])


def _message(phone: int, turn: int) -> bytes:
    told = {
        "device": f"phone-benchmark-{phone:04}",
        "facts": [_fact(phone, turn, k) for k in range(FACTS_EACH)],
    }
    body = msgspec.json.encode(told)
    head = (
        "POST /sync HTTP/1.1",
        "host: 127.0.0.1",
        f"cookie: tubside={_token(phone)}",
        "content-type: application/json",
        f"content-length: {len(body)}",
        "connection: close",
    )
    return "\r\n".join([*head, "", ""]).encode() + body


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
    for port in ports:
        while True:
            try:
                _, opened = await asyncio.open_connection("127.0.0.1", port)
                opened.close()
                break
            except OSError:
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
