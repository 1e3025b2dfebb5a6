"""An empty shop at noon, a customer with its links, and the forms of their own check."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from itertools import count
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job
from tubside.service.library import Library
from tubside.service.own_check import choosing
from tubside.service.own_check.links import job_link
from tubside.service.own_check.standing import DEVICE
from tubside.service.records import (
    Body,
    DangerTold,
    Machine,
    Reported,
)
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

LIBRARY = Library()


NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that a test moves."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        """The time it shows."""
        return self.now


@dataclass
class Shop:
    """The app, its store, and a browser without scripts."""

    app: ASGIApp
    store: Store
    clock: Clock
    numbers: Iterator[int] = field(default_factory=count)

    def ask(
        self,
        method: str,
        path: str,
        data: Mapping[str, str | list[str]] | None = None,
        files: Mapping[str, tuple[str, bytes]] | None = None,
    ) -> httpx.Response:
        """Ask and follow where it leads."""
        return asked(self.app, method, path, data, files)

    def author(self) -> Author:
        """The shop itself as author."""
        return Author("server", self.clock, lambda: f"fact-number-{next(self.numbers)}")

    def job(self, *bodies: Body) -> str:
        """A job that the shop opened."""
        return new_job(self.store, self.author(), bodies or (DangerTold(),))

    def facts(self, job: str) -> list[Body]:
        """What came by the customer's link."""
        entries = job_view(self.store, LIBRARY, job).entries
        return [one.body for one in entries if one.device == DEVICE]


WREN = (Machine(model="brackwater-wren", family="front_load"), Reported(conditions=["wont_drain"]))


def opened_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """An empty shop, its beliefs made of few sets to be quick."""
    monkeypatch.setattr(viewing, "advise", partial(advise, size=40))
    monkeypatch.setattr(choosing, "SETS", 60)
    monkeypatch.setattr(choosing, "AHEAD", (0, 20))
    clock = Clock()
    store = open_data(tmp_path, clock)
    app = create_app(Guarding(frozenset({"testserver"})), store, LIBRARY, clock)
    yield Shop(app, store, clock)
    store.close()


def link(shop: Shop, job: str) -> str:
    """The path of a job's link."""
    return f"/check/{job_link(shop.store, job, shop.clock())}"


def once(page: httpx.Response) -> str:
    """The id in the first form of a page."""
    found = re.search(r'name="once" value="(\w+)"', page.text)
    assert found is not None
    return found[1]


def step_form(page: httpx.Response, outcome: str) -> dict[str, str | list[str]]:
    """The step's form filled in, every caution ticked."""
    step = re.search(r'name="step" value="([\w-]+)"', page.text)
    assert step is not None
    cautions = re.findall(r'name="caution" value="([\w-]+)"', page.text)
    told: dict[str, str | list[str]] = {"do": "step", "step": step[1], "outcome": outcome}
    return {**told, "once": once(page), "caution": cautions}
