"""Only the names and addresses we answer to.

A name of somebody else's can be pointed at 127.0.0.1 after its page is loaded;
the page then reads us as its own origin. Such requests carry that name in
``Host``, so an unknown one is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

LOOPBACK_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
HOST = re.compile(r"(?P<host>\[[0-9a-f:.]+\]|[a-z0-9.-]+)(?::\d{1,5})?")
REFUSED = "There is nothing here under this name; use the address that was printed.\n"


def host_of(header: str) -> str | None:
    """Return the host of a ``Host`` header in small letters, without port; None if malformed."""
    found = HOST.fullmatch(header.lower())
    return found["host"].removesuffix(".") if found else None


class KnownHosts:
    """Middleware: refuse with 421 what is addressed to another name."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str]) -> None:
        self.app = app
        self.hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on requests to our own names."""
        if scope["type"] == "http":
            named = Headers(scope=scope).getlist("host")
            if len(named) != 1 or host_of(named[0]) not in self.hosts:
                await PlainTextResponse(REFUSED, 421)(scope, receive, send)
                return
        await self.app(scope, receive, send)
