"""A way to ask an ASGI app without a network, a clock to move, and a store of accounts."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argon2 import PasswordHasher
from starlette.types import ASGIApp, Message

from tubside.service.knocking import Lock
from tubside.service.logins import User, add_user
from tubside.store.opening import Store, connect
from tubside.store.tables import METADATA

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
CHEAP = Lock(hasher=PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
PASSWORD = "wet shirts on a line"  # noqa: S105  # invented


@dataclass(frozen=True)
class Answer:
    """What the app answered."""

    status: int
    headers: Mapping[str, str]
    body: bytes


@dataclass(frozen=True)
class Asked:
    """A request; several chunks are a body sent in pieces."""

    method: str = "GET"
    path: str = "/"
    query: bytes = b""
    headers: Sequence[tuple[bytes, bytes]] = ()
    chunks: Sequence[bytes] = (b"",)
    scheme: str = "http"
    host: bytes | None = b"127.0.0.1:8321"
    client: str = "127.0.0.1"
    whole: bool = True


def scope_of(asked: Asked) -> dict[str, object]:
    """Return the scope that a server would make of a request."""
    host = [] if asked.host is None else [(b"host", asked.host)]
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": asked.method,
        "scheme": asked.scheme,
        "path": asked.path,
        "raw_path": asked.path.encode("utf-8", "surrogatepass"),
        "query_string": asked.query,
        "root_path": "",
        "headers": [*host, *asked.headers],
        "client": (asked.client, 50000),
        "server": ("127.0.0.1", 8321),
        "state": {},
    }


def ask(app: ASGIApp, asked: Asked) -> Answer:
    """Send a request to the app and wait for its answer."""
    waiting = [
        {
            "type": "http.request",
            "body": chunk,
            "more_body": not asked.whole or number < len(asked.chunks),
        }
        for number, chunk in enumerate(asked.chunks, 1)
    ]
    sent: list[Message] = []

    async def receive() -> Message:
        if waiting:
            return waiting.pop(0)
        await asyncio.sleep(3600)
        return {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    async def run() -> None:
        await app(scope_of(asked), receive, send)

    asyncio.run(run())
    head = next(message for message in sent if message["type"] == "http.response.start")
    return Answer(
        head["status"],
        {name.decode().lower(): value.decode("latin-1") for name, value in head["headers"]},
        b"".join(m.get("body", b"") for m in sent if m["type"] == "http.response.body"),
    )


@dataclass
class Clock:
    """A clock that a test moves."""

    now: datetime = field(default=NOON)

    def __call__(self) -> datetime:
        """Return the time it is set to."""
        return self.now

    def on(self, **by: float) -> None:
        """Move the clock on."""
        self.now += timedelta(**by)


def store_without_accounts(folder: Path) -> Store:
    """Return a new store with tables and nothing in them; to be closed."""
    engine = connect(f"sqlite:///{folder}/logins.sqlite")
    METADATA.create_all(engine)
    return Store(engine)


def add_accounts(store: Store) -> None:
    """Add the technician ``edith`` and the account ``desk`` of the office."""
    add_user(store, User("edith", "technician", NOON), PASSWORD, CHEAP.hasher)
    add_user(store, User("desk", "office", NOON), PASSWORD, CHEAP.hasher)
