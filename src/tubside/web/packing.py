"""Answers packed for a slow line (gzip, RFC 1952), where that tells nobody anything.

The length of a packed answer tells a listener how much of it is there twice. Whoever can
make a browser ask for a page with words of their choosing beside something secret can
guess the secret letter by letter from that (Gluck, Harris & Prado, BREACH, 2013). Forms
here carry no secret token (``same_origin.py`` looks at headers), but pages hold names,
addresses and secret links. So what another site made the browser ask for over TLS is
sent as it is; without TLS there is nothing left to guess. Files of the program hold
nothing secret.
"""

from __future__ import annotations

import gzip
from functools import cache

from starlette.datastructures import Headers
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

from tubside.web.pages.rendering import static_file

LEAST = 1000
"""Bytes; a shorter answer fits into one packet either way."""
QUICK, BEST = 6, 9
"""Of zlib: for each answer, and for files that are packed once."""
OWN = {"same-origin", "none"}
"""Asked by our own page, or by the person (W3C Fetch Metadata, Sec-Fetch-Site)."""


class Packing:
    """Middleware: pack pages, tables and JSON of :data:`LEAST` bytes or more."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.packed = GZipMiddleware(app, minimum_size=LEAST, compresslevel=QUICK)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and pack the answer where it may be packed."""
        safe = scope["type"] == "http" and may_pack(scope)
        await (self.packed if safe else self.app)(scope, receive, send)


def may_pack(scope: Scope) -> bool:
    """Whether the length of a packed answer can tell a listener nothing new."""
    return scope["scheme"] != "https" or Headers(scope=scope).get("sec-fetch-site") in OWN


def takes_gzip(headers: Headers) -> bool:
    """Whether who asks unpacks gzip."""
    return "gzip" in headers.get("accept-encoding", "")


@cache
def packed_file(name: str) -> bytes:
    """One of our files, packed once and as small as can be; the same bytes every time."""
    return gzip.compress(static_file(name), BEST, mtime=0)
