"""Tests of accounts, of logging in, and of sessions."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from sqlalchemy import select

from asking import CHEAP, NOON, PASSWORD, add_accounts, store_without_accounts
from tubside.errors import LoginError, TooManyTriesError, WrongLoginError
from tubside.service import logins, passwords
from tubside.service.knocking import RULES, Knock, Lock, log_in
from tubside.service.logins import User
from tubside.store.opening import Store
from tubside.store.tables import SESSIONS, TRIES, USERS

EDITH = Knock("edith", PASSWORD, "127.0.0.1", "a phone")
WRONG = Knock("edith", "not the right words", "127.0.0.1")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Return a store with two accounts."""
    opened = store_without_accounts(tmp_path)
    add_accounts(opened)
    yield opened
    opened.close()


def test_a_login_gives_a_session(store: Store) -> None:
    """Tests that name and password give a token, and the token the session."""
    token = log_in(store, EDITH, NOON, CHEAP)
    session = logins.session_of(store, token, NOON)
    assert session is not None
    assert (session.user.name, session.user.role, session.device) == (
        "edith",
        "technician",
        "a phone",
    )


def test_tokens_are_random_and_kept_as_hashes(store: Store) -> None:
    """Tests that a token has 256 bits, differs each time, and stands nowhere in the store."""
    tokens = {log_in(store, EDITH, NOON, CHEAP) for _ in range(4)}
    assert len(tokens) == 4
    assert {len(token) for token in tokens} == {43}
    with store.reading() as opened:
        kept = repr(opened.execute(select(SESSIONS)).all())
    assert not any(token in kept for token in tokens)


def test_passwords_are_kept_as_argon2(store: Store) -> None:
    """Tests that a password stands in the store as an Argon2id hash only, salted each."""
    with store.reading() as opened:
        hashes = list(opened.execute(select(USERS.c.password)).scalars())
    assert all(hashed.startswith("$argon2id$") and PASSWORD not in hashed for hashed in hashes)
    assert len(set(hashes)) == 2


def test_the_shipped_hasher_is_costly() -> None:
    """Tests that passwords are hashed with 64 MiB and 3 passes at least (RFC 9106, section 4)."""
    assert passwords.HASHER.memory_cost >= 64 * 1024
    assert passwords.HASHER.time_cost >= 3


@pytest.mark.parametrize(
    "knock",
    [
        WRONG,
        Knock("nobody", PASSWORD, "127.0.0.1"),
        Knock("edith", "", "127.0.0.1"),
        Knock("edith", PASSWORD + "x" * 300, "127.0.0.1"),
        Knock("", "", ""),
        Knock("edith\x00", PASSWORD, "127.0.0.1"),
        Knock("\ud800", "\ud800" * 20, "127.0.0.1"),
    ],
)
def test_what_does_not_fit_is_refused_alike(store: Store, knock: Knock) -> None:
    """Tests that a wrong name and a wrong password get the same words."""
    with pytest.raises(WrongLoginError, match="do not fit"):
        log_in(store, knock, NOON, CHEAP)


def test_an_unknown_name_costs_a_hash(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that work is done for an unknown name too, so that time tells nothing."""
    worked = []

    class Counting(PasswordHasher):
        def verify(self, hash: str | bytes, password: str | bytes) -> bool:  # type: ignore[override]  # noqa: A002
            worked.append(password)
            return super().verify(hash, password)

    monkeypatch.setattr(passwords, "_DECOYS", {})
    lock = Lock(hasher=Counting(time_cost=1, memory_cost=8, parallelism=1))
    with pytest.raises(WrongLoginError):
        log_in(store, Knock("nobody", PASSWORD, "127.0.0.1"), NOON, lock)
    assert worked == [PASSWORD]


def test_tries_run_out_and_come_back(store: Store) -> None:
    """Tests that after five tries none is taken for a minute, by the clock handed in."""
    for _ in range(RULES["pair"].size):
        with pytest.raises(WrongLoginError):
            log_in(store, WRONG, NOON, CHEAP)
    with pytest.raises(TooManyTriesError) as refused:
        log_in(store, EDITH, NOON, CHEAP)
    assert 59 <= refused.value.wait <= 61
    with pytest.raises(TooManyTriesError):
        log_in(store, EDITH, NOON + timedelta(seconds=59), CHEAP)
    assert log_in(store, EDITH, NOON + timedelta(seconds=61), CHEAP)


def test_a_clock_set_back_gives_no_tries(store: Store) -> None:
    """Tests that an earlier clock does not fill the bucket."""
    for _ in range(RULES["pair"].size):
        with pytest.raises(WrongLoginError):
            log_in(store, WRONG, NOON, CHEAP)
    with pytest.raises(TooManyTriesError):
        log_in(store, EDITH, NOON - timedelta(minutes=90), CHEAP)


def test_one_address_cannot_try_every_name(store: Store) -> None:
    """Tests that tries from one address are counted over all names."""
    for number in range(RULES["from"].size):
        with pytest.raises(WrongLoginError):
            log_in(store, Knock(f"name{number}", "a", "10.0.0.9"), NOON, CHEAP)
    with pytest.raises(TooManyTriesError):
        log_in(store, Knock("another", "a", "10.0.0.9"), NOON, CHEAP)


def test_a_stranger_does_not_lock_the_owner_out(store: Store) -> None:
    """Tests that tries from one address leave the same name free from another one."""
    for _ in range(30):
        with pytest.raises(LoginError):
            log_in(store, Knock("edith", "a", "10.0.0.9"), NOON, CHEAP)
    assert log_in(store, EDITH, NOON, CHEAP)


def test_many_addresses_cannot_try_one_name_for_ever(store: Store) -> None:
    """Tests that tries of one name are counted over all addresses."""
    for number in range(RULES["name"].size):
        with pytest.raises(WrongLoginError):
            log_in(store, Knock("edith", "a", f"10.0.1.{number}"), NOON, CHEAP)
    with pytest.raises(TooManyTriesError):
        log_in(store, Knock("edith", "a", "10.0.2.1"), NOON, CHEAP)


def test_tries_tell_nothing(store: Store) -> None:
    """Tests that a password typed in place of the name is kept nowhere, and old tries go."""
    with pytest.raises(WrongLoginError):
        log_in(store, Knock(PASSWORD, "edith", "127.0.0.1"), NOON, CHEAP)
    with store.reading() as opened:
        assert PASSWORD not in repr(opened.execute(select(TRIES)).all())
    log_in(store, EDITH, NOON + timedelta(hours=3), CHEAP)
    with store.reading() as opened:
        kinds = {key.partition(":")[0] for key in opened.execute(select(TRIES.c.key)).scalars()}
    assert kinds == {"from"}


@pytest.mark.parametrize(
    ("idle", "days"), [(logins.SESSION_IDLE, 7), (logins.SESSION_LIFE, 30)], ids=["idle", "old"]
)
def test_sessions_end_by_themselves(store: Store, idle: timedelta, days: int) -> None:
    """Tests that a session ends when unused for 7 days, and after 30 days in any case."""
    assert idle == timedelta(days=days)
    token = log_in(store, EDITH, NOON, CHEAP)
    now = NOON
    while now + timedelta(days=5) < NOON + idle:
        now += timedelta(days=5)
        assert logins.session_of(store, token, now) is not None
    assert logins.session_of(store, token, max(now + logins.SESSION_IDLE, NOON + idle)) is None


def test_sessions_are_listed_and_ended(store: Store) -> None:
    """Tests that sessions are listed latest first, and that ending one ends that one only."""
    first = log_in(store, EDITH, NOON, CHEAP)
    second = log_in(store, EDITH, NOON + timedelta(minutes=1), CHEAP)
    listed = logins.sessions(store, NOON + timedelta(minutes=2), "edith")
    assert [session.since.minute for session in listed] == [1, 0]
    assert logins.end_session(store, listed[0].id, listed[0].user)
    assert logins.session_of(store, second, NOON) is None
    assert logins.session_of(store, first, NOON) is not None
    assert not logins.end_session(store, listed[0].id, listed[0].user)


def test_only_the_office_ends_the_sessions_of_others(store: Store) -> None:
    """Tests that a technician ends own sessions only, and the office anybody's."""
    desk_token = log_in(store, Knock("desk", PASSWORD, "127.0.0.1"), NOON, CHEAP)
    edith_token = log_in(store, EDITH, NOON, CHEAP)
    desk, edith = (logins.session_of(store, t, NOON) for t in (desk_token, edith_token))
    assert desk is not None
    assert edith is not None
    assert not logins.end_session(store, desk.id, edith.user)
    assert logins.end_session(store, edith.id, desk.user)
    assert logins.session_of(store, edith_token, NOON) is None


@pytest.mark.parametrize("how", ["end", "remove", "password"])
def test_all_sessions_end(store: Store, how: str) -> None:
    """Tests that sessions end on demand, with the account, and with a new password."""
    token = log_in(store, EDITH, NOON, CHEAP)
    other = log_in(store, Knock("desk", PASSWORD, "127.0.0.1"), NOON, CHEAP)
    ended = {
        "end": lambda: logins.end_sessions(store, "edith"),
        "remove": lambda: logins.remove_user(store, "edith"),
        "password": lambda: logins.change_password(
            store, "edith", "new words for it", CHEAP.hasher
        ),
    }[how]()
    assert ended == 1
    assert logins.session_of(store, token, NOON) is None
    assert logins.session_of(store, other, NOON) is not None


def test_a_removed_account_is_gone(store: Store) -> None:
    """Tests that a removed account cannot log in, and is told as unknown."""
    logins.remove_user(store, "edith")
    assert [user.name for user in logins.users(store)] == ["desk"]
    with pytest.raises(WrongLoginError):
        log_in(store, EDITH, NOON, CHEAP)
    with pytest.raises(LoginError, match="no account 'edith'"):
        logins.end_sessions(store, "edith")


def test_weak_hashes_are_renewed(store: Store) -> None:
    """Tests that a login renews a hash made with less work than now."""
    lock = Lock(hasher=PasswordHasher(time_cost=2, memory_cost=16, parallelism=1))
    log_in(store, EDITH, NOON, lock)
    with store.reading() as opened:
        renewed = opened.execute(select(USERS.c.password).where(USERS.c.name == "edith")).scalar()
    assert "m=16,t=2,p=1" in str(renewed)
    assert log_in(store, EDITH, NOON, lock)


@pytest.mark.parametrize(
    ("user", "password", "why"),
    [
        (User("Edith", "technician", NOON), PASSWORD, "cannot be a name"),
        (User("a b", "technician", NOON), PASSWORD, "cannot be a name"),
        (User("", "technician", NOON), PASSWORD, "cannot be a name"),
        (User("ann", "owner", NOON), PASSWORD, "no role"),  # type: ignore[arg-type]
        (User("ann", "office", NOON), "short", "12 to 256"),
        (User("ann", "office", NOON), "x" * 300, "12 to 256"),
        (User("ann", "office", NOON), "xyxyxyxyxyxyxyxy", "too easy"),
        (User("ann", "office", NOON), "my name is Ann, hello", "too easy"),
        (User("edith", "office", NOON), PASSWORD, "already"),
    ],
)
def test_accounts_that_are_not_taken(store: Store, user: User, password: str, why: str) -> None:
    """Tests that a bad name, role or password, or a name twice, is told."""
    with pytest.raises(LoginError, match=why):
        logins.add_user(store, user, password, CHEAP.hasher)


@pytest.mark.parametrize("token", ["", "x", "x" * 43, "x" * 5000, "\ud800" * 30])
def test_unknown_tokens_open_nothing(store: Store, token: str) -> None:
    """Tests that a token that was never given opens nothing."""
    log_in(store, EDITH, NOON, CHEAP)
    assert logins.session_of(store, token, NOON) is None
