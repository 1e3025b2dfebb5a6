"""Where phones send what was told without signal; locking out a lost one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass

import msgspec
from anyio.to_thread import run_sync
from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from tubside.errors import LoginError, TubsideError
from tubside.service import jobs
from tubside.service.devices import is_locked, let_in, lock_out, note_phone
from tubside.service.logins import Session
from tubside.service.sent import Batch, read_batch
from tubside.service.syncing import Synced, sync
from tubside.service.tries import Rule
from tubside.service.turns import take_turn
from tubside.web.pages.desk import Desk
from tubside.web.security.login_page import field, session_in

OFTEN = Rule(60, 1.0)
"""Messages of one login: sixty at once, and one more each second (by judgement)."""


class NotTakenError(Exception):
    """A message that is not taken as a whole: how to answer it."""

    def __init__(self, status: int, words: str, headers: Mapping[str, str]) -> None:
        super().__init__(words)
        self.status = status
        self.words = words
        self.headers = headers


@dataclass(frozen=True, slots=True)
class SyncPages:
    """``/sync`` for phones, and two forms of the office for lost ones."""

    desk: Desk

    def routes(self) -> list[Route]:
        """Return the routes."""
        return [
            Route("/sync", self.sync, methods=["POST"]),
            Route("/logins/lock", self.lock, methods=["POST"]),
            Route("/logins/let-in", self.let_in, methods=["POST"]),
        ]

    async def sync(self, request: Request) -> Response:
        """Keep what a phone sends, and answer with what became of each."""
        content = await request.body()
        session = session_in(request)
        address = request.client.host if request.client else ""
        try:
            batch, done = await run_sync(self._sync, content, session, address)
        except NotTakenError as no:
            said = msgspec.json.encode({"wrong": no.words})
            return Response(said, no.status, no.headers, media_type="application/json")
        after = BackgroundTask(self._advise, done.touched) if batch.facts else None
        return Response(msgspec.json.encode(done), media_type="application/json", background=after)

    def _sync(self, content: bytes, session: Session | None, address: str) -> tuple[Batch, Synced]:
        now = self.desk.clock()
        wait = take_turn(self.desk.store, f"sync:{session.id if session else address}", OFTEN, now)
        if wait:
            seconds = str(int(wait) + 1)
            raise NotTakenError(429, "too many messages at once", {"retry-after": seconds})
        try:
            batch = read_batch(content)
        except TubsideError as wrong:
            raise NotTakenError(422, str(wrong), {}) from None
        if is_locked(self.desk.store, batch.device):
            words = "this phone is locked out; the office can let it in again"
            raise NotTakenError(423, words, {"tubside-phone": "locked"})
        name = "" if session is None else session.user.name
        if batch.user not in {"", name}:
            words = f"these facts were told by {batch.user}, who must log in to send them"
            raise NotTakenError(409, words, {})
        note_phone(self.desk.store, session, batch.device)
        return batch, sync(self.desk.store, batch, now)

    def _advise(self, touched: tuple[str, ...]) -> None:
        """What is now advised, once the phone has its answer: the next page is quick."""
        for job in touched:
            with suppress(TubsideError):
                jobs.record_advice(self.desk.store, self.desk.library, job, self.desk.author())

    async def lock(self, request: Request) -> Response:
        """End a session and lock its phone out."""
        return await self._for_office(request, "session", self._lock)

    async def let_in(self, request: Request) -> Response:
        """Let a locked phone send again."""
        return await self._for_office(request, "phone", self._let_in)

    async def _for_office(
        self, request: Request, name: str, work: Callable[[str, Session], bool]
    ) -> Response:
        session = session_in(request)
        if session is None:
            return RedirectResponse("/", 303)
        form = await request.form(max_files=0, max_fields=10)
        try:
            found = await run_sync(work, field(form, name), session)
        except LoginError as wrong:
            return self.desk.render(request, "sorry.html", {"wrong": str(wrong)}, 403)
        if not found:
            words = {"wrong": "There is no such phone or session any more."}
            return self.desk.render(request, "sorry.html", words, 404)
        return RedirectResponse("/logins", 303)

    def _lock(self, session_id: str, by: Session) -> bool:
        return lock_out(self.desk.store, session_id, by.user, self.desk.clock())

    def _let_in(self, phone: str, by: Session) -> bool:
        return let_in(self.desk.store, phone, by.user)
