"""Tests of who may see and do what."""

from __future__ import annotations

import pytest

from asking import NOON
from tubside.errors import LoginError
from tubside.service.logins import User
from tubside.service.roles import check_office, may_see_day

ANNA = User("anna", "technician", NOON)
OFFICE = User("office", "office", NOON)


def test_a_technician_sees_the_own_day() -> None:
    """Tests that the office sees every day, a technician the own one, all without accounts."""
    assert may_see_day(ANNA, "anna")
    assert not may_see_day(ANNA, "bert")
    assert may_see_day(OFFICE, "anna")
    assert may_see_day(None, "anna")


def test_what_only_the_office_may_do() -> None:
    """Tests that a technician is refused by what was asked for."""
    check_office(OFFICE, "do it")
    check_office(None, "do it")
    with pytest.raises(LoginError, match="only the office may do it"):
        check_office(ANNA, "do it")
