"""Mail by the shop's own server, against a real one on this machine: sent, failed, kept, once."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from itertools import count
from pathlib import Path

import pytest

from mail_server import Behaviour, certificates, mail_server
from stores import Ticking, free_port
from tubside.errors import DocumentError, MailError
from tubside.service.authors import Author
from tubside.service.backups import back_up
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person, erase_person
from tubside.service.records import PersonNamed, Visit
from tubside.service.visits import mail_sending
from tubside.service.visits.mail_sending import Sent
from tubside.service.visits.mail_setting import (
    VARIABLE,
    MailSetting,
    drop_mail,
    has_password,
    keep_mail,
    mail_password,
    password_file,
)
from tubside.service.visits.mail_told import mail_words, mailed_of
from tubside.service.visits.mailed import Asked, send_mail, try_mail
from tubside.service.visits.settings import CallerSetting, keep_caller
from tubside.service.visits.shop_day import Shop

NINE = datetime(2026, 3, 4, 9, tzinfo=UTC)
KEPT = "not-in-any-backup-4711"
LOGIN = ("office", KEPT)
IDS = count(1)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """Return a shop without a mail server."""
    monkeypatch.delenv(VARIABLE, raising=False)
    store = open_data(tmp_path / "data", Ticking())
    keep_caller(store, CallerSetting(shop="Mill Lane", telephone="01632 960100"))
    yield Shop(store, Library(), UTC)
    store.close()


@pytest.fixture(scope="module")
def trust(tmp_path_factory: pytest.TempPathFactory) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Return what the server shows, and what a client that trusts it holds."""
    return certificates(tmp_path_factory.mktemp("tls"))


def author(once: str = "") -> Author:
    """Return the server as an author, whose ids come from a form where one is named."""
    numbers = count()
    name = once or f"fresh-{next(IDS):06}"
    return Author("server", Ticking(), lambda: f"{name}-{next(numbers)}")


def job_of(shop: Shop, email: str = "ada@example.org") -> str:
    """Return a job with a window and somebody's address."""
    ref = f"person-{next(IDS):04}"
    add_person(shop.store, ref, PersonData(name="Ada", email=email), NINE)
    visit = Visit(status="booked", arrive_from=NINE, arrive_until=NINE + timedelta(hours=2))
    return new_job(shop.store, author(), [PersonNamed(ref=ref), visit])


def asked(job: str) -> Asked:
    """Return that the text is to go which narrows the window down."""
    return Asked(job, "between", ("09:10", "09:40"), lambda at: f"{at:%H:%M}", str)


def plain(port: int = 25, **more: object) -> MailSetting:
    """Return a server of this machine without encryption."""
    told = {"host": "127.0.0.1", "port": port, "security": "none", "sender": "office@example.org"}
    return MailSetting(**{**told, **more})  # type: ignore[arg-type]  # any field


def said(shop: Shop, job: str) -> list[str]:
    """Return what the job's facts tell of its mails."""
    return [
        mail_words(one.told) for one in mailed_of(job_view(shop.store, shop.library, job).entries)
    ]


def test_a_text_goes_out_once_and_is_told(shop: Shop) -> None:
    """Tests what arrives, the facts, the words kept beside them, and the same form again."""
    job, how = job_of(shop), Behaviour()
    with mail_server(how) as port:
        keep_mail(shop.store, plain(port))
        assert send_mail(shop, asked(job), author("form-00001")) == Sent("sent")
        assert send_mail(shop, asked(job), author("form-00001")) is None
    ((sender, to, content),) = how.taken
    assert sender.startswith("FROM:<office@example.org>")
    assert to == "TO:<ada@example.org>"
    mail = message_from_bytes(content, policy=policy.default)
    text = "We expect to be with you between 09:10 and 09:40 today"
    assert text in mail.get_content().replace("\n", " ")
    assert said(shop, job) == ["Mail “We come between”: sent"]
    view = job_view(shop.store, shop.library, job)
    assert any(text in (words or "") for words in view.words.values())
    assert view.stage == "visit booked"


@pytest.mark.parametrize("tls_first", [True, False])
def test_encrypted_with_a_login(
    shop: Shop, trust: tuple[ssl.SSLContext, ssl.SSLContext], *, tls_first: bool
) -> None:
    """Tests TLS from the start and STARTTLS; the password goes over neither in the open."""
    how = Behaviour(trust[0], tls_first, login=LOGIN)
    security = "tls" if tls_first else "starttls"
    with mail_server(how) as port:
        keep_mail(shop.store, plain(port, security=security, user="office"), KEPT)
        assert try_mail(shop, NINE, "ref-0001", trust[1]) == Sent("sent")
        assert try_mail(shop, NINE, "ref-0002") == Sent("failed", "not-safe")  # nobody we trust
    assert how.was_safe == [True]


@pytest.mark.parametrize(
    ("how", "expected"),
    [
        (Behaviour(refuses=frozenset({"MAIL"})), Sent("failed", "sender")),
        (Behaviour(refuses=frozenset({"RCPT"})), Sent("failed", "recipient")),
        (Behaviour(hangs_up_in="EHLO"), Sent("failed", "no-answer")),
        (Behaviour(hangs_up_in="content"), Sent("unsure")),
    ],
)
def test_what_the_server_does_is_told_and_the_text_stays(
    shop: Shop, how: Behaviour, expected: Sent
) -> None:
    """Tests refusals and lines that break, before the text is handed over and during it."""
    job = job_of(shop)
    with mail_server(how) as port:
        keep_mail(shop.store, plain(port))
        assert send_mail(shop, asked(job), author()) == expected
    view = job_view(shop.store, shop.library, job)
    assert any("between 09:10 and 09:40" in (words or "") for words in view.words.values())
    (told,) = said(shop, job)
    assert ("perhaps sent" in told) == (expected.state == "unsure")
    assert how.taken == []


def test_a_wrong_password_and_none(
    shop: Shop, trust: tuple[ssl.SSLContext, ssl.SSLContext]
) -> None:
    """Tests both, and a server that offers no encryption where it was asked for."""
    with mail_server(Behaviour(trust[0], login=LOGIN)) as port:
        safe = plain(port, security="starttls", user="office")
        keep_mail(shop.store, safe)
        assert try_mail(shop, NINE, "ref-0001", trust[1]) == Sent("failed", "password")
        keep_mail(shop.store, safe, "wrong")
        assert try_mail(shop, NINE, "ref-0001", trust[1]) == Sent("failed", "login")
    with mail_server(Behaviour(offers_tls=False)) as port:
        keep_mail(shop.store, plain(port, security="starttls"))
        assert try_mail(shop, NINE, "ref-0001", trust[1]) == Sent("failed", "not-safe")


def test_nobody_there_and_nobody_who_answers(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests a closed port, and that a silent server is waited for only so long."""
    monkeypatch.setattr(mail_sending, "PATIENCE", 0.2)
    keep_mail(shop.store, plain(free_port()))
    assert try_mail(shop, NINE, "ref-0001") == Sent("failed", "no-answer")
    with mail_server(Behaviour(tls_first=True)) as port:  # it waits for a handshake for ever
        keep_mail(shop.store, plain(port))
        assert try_mail(shop, NINE, "ref-0001") == Sent("failed", "no-answer")


def test_a_server_that_dies_leaves_the_mail_as_begun(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that the text and the attempt are kept before anything goes out."""
    job = job_of(shop)
    keep_mail(shop.store, plain(1))

    def dies(*_: object) -> Sent:
        raise KeyboardInterrupt

    monkeypatch.setattr("tubside.service.visits.mailed.send", dies)
    with pytest.raises(KeyboardInterrupt):
        send_mail(shop, asked(job), author())
    assert said(shop, job) == ["Mail “We come between”: begun; nobody knows yet whether it went"]
    assert any("09:40" in (w or "") for w in job_view(shop.store, shop.library, job).words.values())


def test_the_password_is_in_no_backup(shop: Shop, tmp_path: Path) -> None:
    """Tests its file's mode, that the backup does not hold it, and that it can be forgotten."""
    keep_mail(shop.store, plain(25, user="office"), KEPT)
    file = password_file(shop.store)
    assert file.stat().st_mode & 0o777 == 0o600
    assert mail_password(shop.store) == KEPT
    copy = tmp_path / "copy.sqlite"
    back_up(tmp_path / "data", Ticking(), copy)
    assert b"office@example.org" in copy.read_bytes()
    assert KEPT.encode() not in copy.read_bytes()
    file.chmod(0o644)
    with pytest.raises(MailError, match="600"):
        mail_password(shop.store)
    drop_mail(shop.store)
    assert not has_password(shop.store)


def test_the_variable_comes_first(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a password of the surroundings stands above the file's."""
    keep_mail(shop.store, plain(25, user="office"), KEPT)
    monkeypatch.setenv(VARIABLE, "of the surroundings")
    assert mail_password(shop.store) == "of the surroundings"


def test_the_text_is_erased_with_the_person(shop: Shop) -> None:
    """Tests that erasing a person takes what was written to them; the fact stays."""
    job = job_of(shop)
    with mail_server(Behaviour()) as port:
        keep_mail(shop.store, plain(port))
        send_mail(shop, asked(job), author())
    person = job_view(shop.store, shop.library, job).person
    assert person is not None
    erase_person(shop.store, person.ref, NINE)
    assert not any(job_view(shop.store, shop.library, job).words.values())
    assert said(shop, job) == ["Mail “We come between”: sent"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"host": "mail.example.org"},  # in the open, to somebody else's machine
        {"host": "mail example"},
        {"host": ""},
        {"port": 0},
        {"user": "office\r\nMAIL FROM:<x@example.org>"},
        {"sender": "the office"},
    ],
)
def test_a_setting_that_cannot_be_is_refused(shop: Shop, wrong: dict[str, object]) -> None:
    """Tests each field that a server or a header could be fooled with."""
    with pytest.raises((MailError, DocumentError)):
        keep_mail(shop.store, plain(**wrong))  # type: ignore[arg-type]  # any field


def test_without_a_server_or_an_address_nothing_begins(shop: Shop) -> None:
    """Tests that a shop with no server, and a customer with a wrong address, leave no fact."""
    job, odd = job_of(shop), job_of(shop, "ada@example.org, bob@example.org")
    with pytest.raises(MailError):
        send_mail(shop, asked(job), author())
    keep_mail(shop.store, plain(25))
    with pytest.raises(DocumentError):
        send_mail(shop, asked(odd), author())
    assert said(shop, job) == said(shop, odd) == []
