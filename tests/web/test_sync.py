"""Tests of what phones send, and of locking one out, through the whole app."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from starlette.types import ASGIApp

from asking import CHEAP, NOON, PASSWORD, Answer, Asked, add_accounts, ask
from tubside.service.attachments import PHOTO_LIMIT
from tubside.service.data_folder import open_data
from tubside.service.knocking import Knock, log_in
from tubside.service.library import Library
from tubside.service.logins import sessions
from tubside.service.phone_messages import OFTEN
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

LIBRARY = Library()
OURS = (b"origin", b"http://127.0.0.1:8321")
PHONE = "phone-12345678"


def fact(number: int = 1, job: str = "job-on-phone") -> dict[str, object]:
    """A fact as a phone sends it."""
    body = {"kind": "payer", "who": "landlord"}
    at = "2026-11-25T12:00:00Z"
    return {"id": f"fact-{number:05}", "job": job, "sequence": number, "at": at, "body": body}


@dataclass(frozen=True)
class Shop:
    """The app with accounts, and who is logged in where."""

    app: ASGIApp
    store: Store

    def login(self, name: str) -> str:
        """The token of a new session."""
        return log_in(self.store, Knock(name, PASSWORD, "127.0.0.1", "a phone"), NOON, CHEAP)

    def ask(self, path: str, token: str = "", body: bytes | None = None) -> Answer:
        """Ask for a page, or post to it."""
        headers = [OURS, (b"cookie", f"tubside={token}".encode())]
        if body is not None and body[:1] != b"{":
            headers.append((b"content-type", b"application/x-www-form-urlencoded"))
        method = "GET" if body is None else "POST"
        return ask(self.app, Asked(method, path, headers=headers, chunks=(body or b"",)))

    def sync(self, token: str, **told: object) -> tuple[int, dict[str, object]]:
        """Send a message of a phone; status and answer."""
        said = {"device": PHONE, "facts": [fact()], **told}
        answer = self.ask("/sync", token, json.dumps(said).encode())
        try:
            return answer.status, json.loads(answer.body)
        except ValueError:
            return answer.status, {}


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """An empty shop with the accounts of the tests."""
    store = open_data(tmp_path, lambda: NOON)
    add_accounts(store)
    yield Shop(create_app(Guarding(), store, LIBRARY, lambda: NOON), store)
    store.close()


def names(store: Store) -> tuple[str, str]:
    """A technician and an office account."""
    from tubside.service.logins import users  # noqa: PLC0415  # beside the other accounts

    by_role = {user.role: user.name for user in users(store)}
    return by_role["technician"], by_role["office"]


def test_facts_of_a_phone_are_kept_once(shop: Shop) -> None:
    """Tests that a new job opens by its facts, and the same message changes nothing."""
    token = shop.login(names(shop.store)[0])
    for wanted in ("kept", "there"):
        status, answer = shop.sync(token)
        assert status == 200
        results = answer["results"]
        assert isinstance(results, list)
        assert [one["result"] for one in results] == [wanted]
    assert "job-on-phone" in shop.ask("/offline/list.json", token).body.decode()


def test_strangers_and_other_sites_are_refused(shop: Shop) -> None:
    """Tests that facts need a session, and a page of our own."""
    assert shop.sync("")[0] == 401
    token = shop.login(names(shop.store)[0])
    foreign = [(b"origin", b"https://elsewhere.example"), (b"cookie", f"tubside={token}".encode())]
    body = json.dumps({"device": PHONE, "facts": [fact()]}).encode()
    asked = Asked("POST", "/sync", headers=foreign, chunks=(body,))
    assert ask(shop.app, asked).status == 403


def test_only_who_told_them_sends_them(shop: Shop) -> None:
    """Tests that facts told by somebody else wait for them."""
    technician, office = names(shop.store)
    status, answer = shop.sync(shop.login(office), user=technician)
    assert status == 409
    assert technician in str(answer["wrong"])
    assert shop.sync(shop.login(technician), user=technician)[0] == 200


def test_messages_have_a_size_and_a_pace(shop: Shop) -> None:
    """Tests that a message that is too large, malformed or one too many is refused."""
    token = shop.login(names(shop.store)[0])
    assert shop.ask("/sync", token, b"{" + b" " * (2 * PHOTO_LIMIT)).status == 413
    assert shop.ask("/sync", token, b"{").status == 422
    found = [shop.sync(token)[0] for _ in range(OFTEN.size)]
    assert set(found[:-1]) == {200}
    assert found[-1] == 429


def test_a_lost_phone_is_locked_out(shop: Shop) -> None:
    """Tests that its session ends, it is told to erase, and it sends nothing until let in."""
    technician, office = names(shop.store)
    lost, token = shop.login(technician), shop.login(office)
    assert shop.sync(lost)[0] == 200
    session = sessions(shop.store, NOON, technician)[0].id
    form = f"session={session}".encode()
    assert shop.ask("/logins/lock", shop.login(technician), form).status == 403
    assert shop.ask("/logins/lock", token, form).status == 303
    told = shop.ask("/offline/list.json", lost)
    assert (told.status, told.headers["tubside-phone"]) == (401, "locked")
    again = shop.login(technician)
    assert shop.sync(again)[0] == 423
    page = shop.ask("/logins", token).body.decode()
    assert "Locked out" in page
    phone = re.findall(r'name="phone" value="([^"]+)"', page)
    assert phone == [PHONE]
    assert shop.ask("/logins/let-in", token, f"phone={PHONE}".encode()).status == 303
    assert shop.sync(again)[0] == 200


def test_the_worker_is_of_one_version_with_its_files(shop: Shop) -> None:
    """Tests that the worker may act on every page, is asked for anew, and names what is there."""
    assert shop.ask("/").status in {303, 401}  # there are accounts
    answer = shop.ask("/service-worker.js")  # browsers send no cookie with it
    assert answer.status == 200
    assert answer.headers["service-worker-allowed"] == "/"
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-type"].startswith("text/javascript")
    line, _, rest = answer.body.decode().partition("\n")
    shell = json.loads(line.removeprefix("const SHELL = ").removesuffix(";"))
    for asset in [*shell["assets"], *re.findall(r'from "([^"]+)"', rest)]:
        assert shop.ask(asset).status == 200, asset
        assert re.search(r"-[0-9a-f]{12}\.", asset)


def test_the_pages_for_no_signal(shop: Shop) -> None:
    """Tests that the frame of a new job and the page about phones hold what they say."""
    token = shop.login(names(shop.store)[0])
    frame = shop.ask("/offline/job", token).body.decode()
    assert frame.count('data-part="trouble"') == len(LIBRARY.families())
    assert "/jobs/JOB/machine" in frame
    about = shop.ask("/offline", token).body.decode()
    assert "No closed jobs" in about
    assert "Lost: lock it out" in about
