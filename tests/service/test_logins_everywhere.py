"""Tests that accounts, tries and sessions work on each kind of database."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from asking import CHEAP, NOON, PASSWORD, add_accounts
from tubside.errors import LoginError, TooManyTriesError, WrongLoginError
from tubside.service import logins
from tubside.service.knocking import RULES, Knock, log_in
from tubside.store.opening import Store

EDITH = Knock("edith", PASSWORD, "127.0.0.1", "a phone")


def test_in_out_and_away(store: Store) -> None:
    """Tests a login, its end, a new password and the removal of the account."""
    add_accounts(store)
    token = log_in(store, EDITH, NOON, CHEAP)
    later = NOON + timedelta(hours=1)
    assert logins.session_of(store, token, later) is not None
    assert [session.seen_at for session in logins.sessions(store, later, "edith")] == [later]
    assert logins.end_sessions(store, "edith") == 1
    assert logins.session_of(store, token, later) is None
    log_in(store, EDITH, later, CHEAP)
    assert logins.change_password(store, "edith", "other words for it", CHEAP.hasher) == 1
    assert logins.remove_user(store, "edith") == 0
    with pytest.raises(WrongLoginError):
        log_in(store, EDITH, later, CHEAP)


def test_tries_at_once_are_all_counted(store: Store) -> None:
    """Tests that many tries at the same moment get no more than the bucket holds."""
    add_accounts(store)

    def one(_number: int) -> type[LoginError]:
        try:
            log_in(store, Knock("edith", "not the right words", "127.0.0.1"), NOON, CHEAP)
        except LoginError as wrong:
            return type(wrong)
        pytest.fail("a wrong password was taken")

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(one, range(16)))
    assert answers.count(WrongLoginError) == RULES["pair"].size
    assert answers.count(TooManyTriesError) == 16 - RULES["pair"].size
