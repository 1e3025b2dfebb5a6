"""Where phones send what was told without signal; locking out a lost one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

import msgspec
from anyio.to_thread import run_sync
from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from tubside.errors import LoginError, TubsideError
from tubside.service import jobs
from tubside.service.advising_later import AdvisingLater
from tubside.service.devices import let_in, lock_out
from tubside.service.gathering import Gathering
from tubside.service.logins import Session
from tubside.service.phone_messages import OFTEN, Message, NotTaken, turn_key
from tubside.service.sent import read_batch
from tubside.service.syncing import Synced, Taken, answer, take
from tubside.service.turns import take_turn
from tubside.web.pages.desk import Desk
from tubside.web.security.login_page import field, session_in

TOGETHER = 1000
"""Facts that are kept in one go, of however many phones (by judgement)."""


class NotTakenError(Exception):
    """A message that is not taken as a whole: how to answer it."""

    def __init__(self, status: int, words: str, headers: Mapping[str, str]) -> None:
        super().__init__(words)
        self.status = status
        self.words = words
        self.headers = headers


class SyncPages:
    """``/sync`` for phones, and two forms of the office for lost ones."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._take: Gathering[Message, Taken | NotTaken] = Gathering(
            partial(take, desk.store), lambda one: 1 + len(one.batch.facts), TOGETHER
        )
        self._advise = AdvisingLater(self._advice, self._take.anybody)

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
            done = await run_sync(self._sync, content, session, address)
        except NotTakenError as no:
            said = msgspec.json.encode({"wrong": no.words})
            return Response(said, no.status, no.headers, media_type="application/json")
        after = BackgroundTask(self._advise, done.touched) if done.touched else None
        return Response(msgspec.json.encode(done), media_type="application/json", background=after)

    def _sync(self, content: bytes, session: Session | None, address: str) -> Synced:
        store, now = self.desk.store, self.desk.clock()
        try:
            batch = read_batch(content)
        except TubsideError as wrong:
            wait = take_turn(store, turn_key(session, address), OFTEN, now)
            too_often = _refusal(NotTaken("too-often", wait), "")
            raise (too_often if wait else NotTakenError(422, str(wrong), {})) from None
        taken = self._take(Message(batch, session, address, now))
        if isinstance(taken, NotTaken):
            raise _refusal(taken, batch.user)
        return answer(store, batch, taken, now)

    def _advice(self, job: str) -> None:
        """What is now advised, once the phone has its answer: the next page is quick."""
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


def _refusal(why_not: NotTaken, user: str) -> NotTakenError:
    """How a message that is not taken is answered."""
    if why_not.why == "too-often":
        again = {"retry-after": str(int(why_not.wait) + 1)}
        return NotTakenError(429, "too many messages at once", again)
    if why_not.why == "locked":
        words = "this phone is locked out; the office can let it in again"
        return NotTakenError(423, words, {"tubside-phone": "locked"})
    words = f"these facts were told by {user}, who must log in to send them"
    return NotTakenError(409, words, {})
