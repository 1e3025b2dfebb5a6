"""A browser without scripts, straight at the app, and a shop with one job in it."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import httpx

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
        return asyncio.run(self._ask("GET", path, None, None))

    def post(
        self, path: str, data: Mapping[str, str | list[str]], photo: bytes | None = None
    ) -> httpx.Response:
        """Send a form, perhaps with a photo, and follow where it leads."""
        files = None if photo is None else {"photo": ("a-photo", photo)}
        return asyncio.run(self._ask("POST", path, data, files))

    async def _ask(
        self,
        method: str,
        path: str,
        data: Mapping[str, str | list[str]] | None,
        files: Mapping[str, tuple[str, bytes]] | None,
    ) -> httpx.Response:
        app = create_app(Guarding(frozenset({"testserver"})), self.store, self.library, self.clock)
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app),
            base_url="http://testserver",
            headers={"origin": "http://testserver"},
            follow_redirects=True,
        )
        async with client:
            return await client.request(method, path, data=data, files=files)


def unscripted_at(folder: Path, library: Library) -> Unscripted:
    """Open an empty shop in a folder."""
    clock = Ticking()
    return Unscripted(open_data(folder, clock), library, clock)
