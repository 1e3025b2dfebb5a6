"""A browser without scripts, straight at the app, and a shop with one job in it."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import httpx
from starlette.types import ASGIApp

from stores import Ticking
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.library import Library
from tubside.service.records import Body, Machine, Reported
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding


@dataclass
class Unscripted:
    """Pages by address and form alone."""

    store: Store
    library: Library
    clock: Ticking
    count: int = field(default=0)

    @cached_property
    def app(self) -> ASGIApp:
        """The app, one for all that is asked."""
        return create_app(Guarding(frozenset({"testserver"})), self.store, self.library, self.clock)

    def author(self) -> Author:
        """Return the server as an author of facts."""

        def fresh() -> str:
            self.count += 1
            return f"fact-{self.count:06}"

        return Author("server", self.clock, fresh)

    def job(self, *more: Body) -> str:
        """Open a job on a front-loader of nine years that will not drain."""
        machine = Machine(family="front_load", model="brackwater-wren", age_years=9.0)
        return new_job(
            self.store, self.author(), [machine, Reported(conditions=["wont_drain"]), *more]
        )

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(
        self, path: str, data: Mapping[str, str | list[str]], photo: bytes | None = None
    ) -> httpx.Response:
        """Send a form, perhaps with a photo, and follow where it leads."""
        files = None if photo is None else {"photo": ("a-photo", photo)}
        return asked(self.app, "POST", path, data, files)


Fields = Mapping[str, str] | Mapping[str, str | list[str]]
"""A form's fields: one value each, or several."""


def asked(
    app: ASGIApp,
    method: str,
    path: str,
    data: Fields | None = None,
    files: Mapping[str, tuple[str, bytes]] | None = None,
) -> httpx.Response:
    """Ask an app, and follow where it leads."""

    async def ask() -> httpx.Response:
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app),
            base_url="http://testserver",
            headers={"origin": "http://testserver"},
            follow_redirects=True,
            timeout=60,
        )
        async with client:
            return await client.request(method, path, data=data, files=files)

    return asyncio.run(ask())


def unscripted_at(folder: Path, library: Library) -> Unscripted:
    """Open an empty shop in a folder."""
    clock = Ticking()
    return Unscripted(open_data(folder, clock), library, clock)
