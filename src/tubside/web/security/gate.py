"""No page without a login but the login, wherever logins exist."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from urllib.parse import quote

from anyio.to_thread import run_sync
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from tubside.service.devices import ended_by_lock
from tubside.service.logins import Session, has_users, session_of
from tubside.store.opening import Store
from tubside.web.security.cookie import token_in
from tubside.web.security.public import LOGIN, is_open, next_page

REFUSED = "Log in first.\n"


class Gate:
    """Middleware: put the session into ``scope["state"]["session"]``, or refuse.

    Parameters
    ----------
    store, clock
        Where sessions are kept, and the time they are held against.
    always
        Refuse without a login even when there is no account: on every binding that
        others can reach.
    """

    def __init__(
        self, app: ASGIApp, store: Store, clock: Callable[[], datetime], *, always: bool
    ) -> None:
        self.app = app
        self.store = store
        self.clock = clock
        self.always = always

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on what is open, what has a session, and all where nobody needs to log in."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        token = token_in(Headers(scope=scope), scope["scheme"])
        session, needed = await run_sync(self._look, token)
        scope.setdefault("state", {})["session"] = session
        if needed and session is None and not is_open(scope["path"]):
            locked = token is not None and await run_sync(ended_by_lock, self.store, token)
            await refusal(scope, locked=locked)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _look(self, token: str | None) -> tuple[Session | None, bool]:
        session = None if token is None else session_of(self.store, token, self.clock())
        return session, session is None and (self.always or has_users(self.store))


def refusal(scope: Scope, *, locked: bool = False) -> Response:
    """Return the way to the login for who asked for a page, 401 for the rest.

    A phone that was locked out is told so: it erases what it holds.
    """
    headers = Headers(scope=scope)
    if scope["method"] == "GET" and "text/html" in headers.get("accept", ""):
        query = scope.get("query_string", b"").decode("latin-1")
        wanted = next_page(quote(scope["path"], safe="/") + (f"?{query}" if query else ""))
        return RedirectResponse(f"{LOGIN}?next={quote(wanted, safe='')}", 303)
    headers_out = {"cache-control": "no-store"}
    if locked:
        headers_out |= {"tubside-phone": "locked", "clear-site-data": '"cache"'}
    return PlainTextResponse(REFUSED, 401, headers_out)
