"""The login, the way out, and the list of where one is logged in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from anyio import CapacityLimiter
from anyio.to_thread import run_sync
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from tubside.errors import LoginError, TooManyTriesError
from tubside.service.devices import locked_phones
from tubside.service.knocking import LOCK, Knock, Lock, log_in
from tubside.service.logins import Session, end_session, sessions
from tubside.store.opening import Store
from tubside.web.security.cookie import give, take_away
from tubside.web.security.public import LOGIN, next_page

Render = Callable[[Request, str, Mapping[str, object], int], Response]
"""(request, template, what stands in it, status) -> the page."""


@dataclass(frozen=True, slots=True)
class LoginPages:
    """The pages about logins, as routes for the app.

    Two hashes at once are the most: each takes 64 MiB and a fifth of a second.
    """

    store: Store
    clock: Callable[[], datetime]
    render: Render
    lock: Lock = LOCK

    def routes(self) -> list[Route]:
        """Return the routes: ``/login``, ``/logout``, ``/logins`` and ``/logins/end``."""
        return [
            Route(LOGIN, self.show, methods=["GET"]),
            Route(LOGIN, self.enter, methods=["POST"]),
            Route("/logout", self.leave, methods=["POST"]),
            Route("/logins", self.listed, methods=["GET"]),
            Route("/logins/end", self.end, methods=["POST"]),
        ]

    async def show(self, request: Request) -> Response:
        """Show the login, or go on when there is a session."""
        wanted = next_page(request.query_params.get("next"))
        if session_in(request) is not None:
            return RedirectResponse(wanted, 303)
        return self._page(request, wanted, "", 200)

    async def enter(self, request: Request) -> Response:
        """Take name and password; give a session, or say that they do not fit."""
        form = await request.form(max_files=0, max_fields=10)
        wanted = next_page(field(form, "next"))
        knock = Knock(
            name=field(form, "name")[:200],
            password=field(form, "password"),
            address=request.client.host if request.client else "",
            device=request.headers.get("user-agent", ""),
        )
        try:
            token = await run_sync(self._knock, knock, limiter=_hashing())
        except TooManyTriesError as wrong:
            page = self._page(request, wanted, str(wrong), 429)
            page.headers["retry-after"] = str(wrong.wait)
            return page
        except LoginError as wrong:
            return self._page(request, wanted, str(wrong), 403)
        answer = RedirectResponse(wanted, 303)
        give(answer, token, request.url.scheme)
        return answer

    async def leave(self, request: Request) -> Response:
        """End this session, here and in the store."""
        session = session_in(request)
        if session is not None:
            await run_sync(end_session, self.store, session.id, session.user)
        answer = RedirectResponse(LOGIN, 303)
        take_away(answer, request.url.scheme)
        answer.headers["clear-site-data"] = '"cache"'
        return answer

    async def listed(self, request: Request) -> Response:
        """List where one is logged in; the office sees all."""
        session = session_in(request)
        if session is None:
            return RedirectResponse("/", 303)
        whose = None if session.user.role == "office" else session.user.name
        found = await run_sync(sessions, self.store, self.clock(), whose)
        office = session.user.role == "office"
        locked = await run_sync(locked_phones, self.store) if office else []
        values = {"sessions": found, "own": session, "office": office, "locked": locked}
        return self.render(request, "logins.html", values, 200)

    async def end(self, request: Request) -> Response:
        """End one session by its id."""
        session = session_in(request)
        if session is None:
            return RedirectResponse("/", 303)
        form = await request.form(max_files=0, max_fields=10)
        if not await run_sync(end_session, self.store, field(form, "session"), session.user):
            return PlainTextResponse("There is no such session of yours; it may have ended.\n", 404)
        return RedirectResponse("/logins", 303)

    def _knock(self, knock: Knock) -> str:
        return log_in(self.store, knock, self.clock(), self.lock)

    def _page(self, request: Request, wanted: str, wrong: str, status: int) -> Response:
        return self.render(request, "login.html", {"next": wanted, "wrong": wrong}, status)


@cache
def _hashing() -> CapacityLimiter:
    return CapacityLimiter(2)


def session_in(request: Request) -> Session | None:
    """Return the session that the gate found, None where nobody needs to log in."""
    found = request.scope.get("state", {}).get("session")
    return found if isinstance(found, Session) else None


def field(form: FormData, name: str) -> str:
    """Return a text field of a form, "" when it is absent or a file."""
    value = form.get(name, "")
    return value if isinstance(value, str) else ""
