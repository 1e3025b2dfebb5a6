"""For the internet: the public pages and nothing else, at a pace, and nobody known.

What is not on the list of public pages is answered like a page that does not exist, also to
somebody who is logged in elsewhere: cookies are taken off before anything looks at them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import ceil

from anyio.to_thread import run_sync
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tubside.web.security.limits import BodyLimits
from tubside.web.security.pace import Pace, SharedPace
from tubside.web.security.public import shown_outside

METHODS = frozenset({"GET", "HEAD", "POST"})
NOTHING = "There is nothing here.\n"
SLOWER = "That was too often; wait a little and try again.\n"
FILMS = re.compile(r"/check/[A-Za-z0-9_.-]{1,400}/film")
FILM_SIZE = (30 << 20) + 64 * 1024
"""A film of ten seconds, and the form around it."""
SMALL = BodyLimits(form=8 * 1024, wider={FILMS: FILM_SIZE}, address=1024, seconds=10.0)
"""A customer's answer is a few bytes, a link up to some hundred (common practice, no source)."""
HSTS = "max-age=31536000"
"""A browser that came once over https comes so again (RFC 6797, 6.1)."""


@dataclass(frozen=True, slots=True)
class Outside:
    """How the public pages are reached.

    ``proxied``: a reverse proxy on this machine speaks https for us, and tells who asks in
    the last entry of ``X-Forwarded-For``, which it adds itself.
    """

    pace: Pace | SharedPace
    proxied: bool = False


class PublicOnly:
    """Middleware: 404 for every path that is not public, 429 for who asks too often."""

    def __init__(self, app: ASGIApp, outside: Outside) -> None:
        self.app = app
        self.outside = outside

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on what is public, as from somebody unknown."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        refused = await self._refused(scope)
        if refused is not None:
            await refused(scope, receive, _marked(send))
            return
        scheme = "https" if self.outside.proxied else scope["scheme"]
        plain = {**scope, "scheme": scheme, "headers": _unknown(scope["headers"])}
        await self.app(plain, receive, _marked(send))

    async def _refused(self, scope: Scope) -> Response | None:
        pace, sender = self.outside.pace, self._from(scope)
        shared = isinstance(pace, SharedPace)
        wait = await run_sync(pace.wait, sender) if shared else pace.wait(sender)
        if wait > 0.0:
            return PlainTextResponse(SLOWER, 429, {"retry-after": str(ceil(wait))})
        if scope["method"] not in METHODS or not shown_outside(scope["path"]):
            return PlainTextResponse(NOTHING, 404)
        return None

    def _from(self, scope: Scope) -> str:
        if self.outside.proxied:
            told = Headers(scope=scope).getlist("x-forwarded-for")
            return told[-1].rpartition(",")[2].strip() if told else ""
        client = scope.get("client")
        return str(client[0]) if client else ""


def _unknown(headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    return [(name, value) for name, value in headers if name.lower() != b"cookie"]


def _marked(send: Send) -> Send:
    async def marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["strict-transport-security"] = HSTS
            headers["x-robots-tag"] = "noindex, nofollow"
        await send(message)

    return marked
