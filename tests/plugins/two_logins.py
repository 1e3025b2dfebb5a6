"""The app with two accounts, a technician's and the office's, to ask as either."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import count
from urllib.parse import urlencode

from starlette.types import ASGIApp

from asking import CHEAP, NOON, PASSWORD, Answer, Asked, ask
from tubside.service.authors import Author
from tubside.service.jobs import new_job
from tubside.service.knocking import Knock, log_in
from tubside.service.logins import users
from tubside.service.people import PersonData, add_person
from tubside.service.records import Consent, PersonNamed, Visit
from tubside.store.opening import Store

TOMORROW = NOON + timedelta(days=1)
OURS = (b"origin", b"http://127.0.0.1:8321")


@dataclass
class Shop:
    """The app with accounts, one technician's visits and another's, places known and not."""

    app: ASGIApp
    store: Store
    ids: Iterator[int]

    def login(self, role: str) -> str:
        """The token of a new session of somebody with a role."""
        name = next(user.name for user in users(self.store) if user.role == role)
        return log_in(self.store, Knock(name, PASSWORD, "127.0.0.1", "a phone"), NOON, CHEAP)

    def ask(self, path: str, token: str = "", form: dict[str, str] | None = None) -> Answer:
        """Open a page, or send a form."""
        headers = [OURS, (b"cookie", f"tubside={token}".encode())]
        if form is None:
            path, _, query = path.partition("?")
            return ask(self.app, Asked("GET", path, query.encode(), headers))
        headers.append((b"content-type", b"application/x-www-form-urlencoded"))
        body = urlencode(form).encode()
        return ask(self.app, Asked("POST", path, headers=headers, chunks=(body,)))

    def visit(self, name: str, place: str, technician: str, phone: str = "") -> str:
        """Book a visit for tomorrow noon; its job."""
        ref = f"person-{next(self.ids):06}"
        add_person(self.store, ref, PersonData(name=name, place=place, phone=phone), NOON)
        author = Author("server", lambda: NOON, lambda: f"fresh-{next(self.ids):06}")
        until = TOMORROW + timedelta(hours=1)
        visit = Visit(
            status="booked", arrive_from=TOMORROW, arrive_until=until, technician=technician
        )
        agreed = Consent(amount_cents=4800, agreed=True)
        return new_job(self.store, author, [PersonNamed(ref=ref), agreed, visit])


def fresh(stem: str) -> Callable[[], str]:
    """A source of ids that count up."""
    numbers = count(1)
    return lambda: f"{stem}-{next(numbers):06}"
