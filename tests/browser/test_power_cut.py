"""The server killed at random moments: what was acknowledged is on the disk."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from threading import Timer

import httpx
import pytest

from served import Forked, Forking, forking

FORMS: list[tuple[str, dict[str, str]]] = [
    ("machine", {"machine": "model:aldermoor-tern", "payer": "customer"}),
    ("payer", {"who": "insurer"}),
    ("panel", {"keep": "yes", "lamp.pause": "3 blinks"}),
    ("danger", {"danger": "smoke"}),
    ("trouble", {"first": "wont_drain", "when": "drain"}),
    ("payer", {"who": "landlord"}),
    ("visit", {"do": "arrive"}),
    ("payer", {"who": "customer"}),
]
"""A job after its call: form -> fields."""


def pressed(server: Forked, names: Iterator[str]) -> Iterator[str]:
    """Press buttons until the server is gone; the id of the first fact of each kept form."""
    with httpx.Client(base_url=server.address, headers={"origin": server.address}) as client:
        while True:
            once = next(names)
            answer = client.post("/call", data={"danger": "none", "once": once})
            assert answer.status_code == 303
            yield f"{once}-"
            job = answer.headers["location"].removesuffix("/machine")
            for form, fields in FORMS:
                once = next(names)
                answer = client.post(f"{job}/{form}", data={**fields, "once": once})
                assert answer.status_code == 303, (form, answer.text)
                yield f"{once}-"


def cut(ready: Forking, data: Path, moment: tuple[int, float], names: Iterator[str]) -> list[str]:
    """Serve, press, kill some seconds after so many forms were acknowledged; those that were.

    Counting forms and not seconds alone makes the cuts fall among them on any machine.
    """
    count, after = moment
    kept: list[str] = []
    with ready.served(data) as server:
        timer = Timer(after, server.kill)
        if count == 0:
            timer.start()
        with contextlib.suppress(httpx.TransportError):
            for name in pressed(server, names):
                kept.append(name)
                if len(kept) == count:
                    timer.start()
        timer.join()
    return kept


def kept_in(data: Path) -> set[str]:
    """The ids on the disk, of a database that must be whole."""
    found = [path for path in data.iterdir() if path.suffix in {".db", ".sqlite", ".sqlite3"}]
    assert len(found) == 1, list(data.iterdir())
    with closing(sqlite3.connect(found[0])) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return {str(row[0]) for row in database.execute("SELECT id FROM facts")}


def cut_often(data: Path, times: int) -> None:
    """Kill the server many times over the same data; every acknowledged fact must stay."""
    moments = random.Random(20260304)  # noqa: S311  # moments to kill at, no secrets
    names = (f"form{number:06}" for number in range(10**6))
    acknowledged: set[str] = set()
    with forking() as ready:
        for _ in range(times):
            moment = (moments.randrange(7), moments.uniform(0.0, 0.2))
            kept = cut(ready, data, moment, names)
            acknowledged.update(kept)
            on_disk = {f"{name.rpartition('-')[0]}-" for name in kept_in(data)}
            assert acknowledged <= on_disk, sorted(acknowledged - on_disk)
    assert len(acknowledged) > 2 * times


def test_twenty_power_cuts_lose_nothing(tmp_path: Path) -> None:
    """Tests that no fact answered with a 303 is lost when the process is killed."""
    cut_often(tmp_path / "shop", 20)


@pytest.mark.soak
def test_two_hundred_power_cuts_lose_nothing(tmp_path: Path) -> None:
    """Tests the same at two hundred moments."""
    cut_often(tmp_path / "shop", 200)
