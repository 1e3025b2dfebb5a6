"""Forms of other sites are refused by what the browser says of where they come from.

A page elsewhere can make a browser post to us with the browser's cookie, or, on
a machine without logins, with nothing at all. Hidden tokens would stop it, but
a token in a page that was kept for offline use is stale when the page is sent.
Browsers say themselves where a request comes from, and no script can forge it:

- ``Sec-Fetch-Site`` (W3C Fetch Metadata) must be ``same-origin``, or ``none`` for
  what the person typed. ``same-site`` is refused: a site has all ports of a host,
  and other programs on this machine are not us.
- Browsers that do not send it send ``Origin`` (RFC 6454, section 7.3) with every
  post; it must be our own scheme, host and port. ``null`` is nobody's.
- A request with neither comes from no browser of this decade. A program that
  wants to harm could write any header it likes, so nothing is gained by refusing
  it here; it still needs a session where logins exist.

Reading pages changes nothing, so GET, HEAD and OPTIONS pass.
"""

from __future__ import annotations

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
REFUSED = (
    "This form was sent by a page of another site, so it was not taken. "
    "Open the page here and send it again.\n"
)


def is_ours(method: str, scheme: str, headers: Headers) -> bool:
    """Return whether a request may change something, by what its browser says of it.

    ``scheme`` is ours: http or https.
    """
    if method in SAFE_METHODS:
        return True
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = headers.get("origin")
    return origin is None or origin == f"{scheme}://{headers.get('host', '')}"


class SameOriginOnly:
    """Middleware: refuse with 403 what a page of another site sends."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on our own requests and those that change nothing."""
        if scope["type"] == "http" and not is_ours(
            scope["method"], scope["scheme"], Headers(scope=scope)
        ):
            await PlainTextResponse(REFUSED, 403)(scope, receive, send)
            return
        await self.app(scope, receive, send)
