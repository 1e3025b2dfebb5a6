"""Moments and money come back as they were put in, on each database."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import func, insert, select
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import StatementError

from tubside.store.columns import Cents, UtcDateTime
from tubside.store.opening import Store
from tubside.store.tables import JOBS, SETTINGS, USERS

DIALECT = sqlite.dialect()
ROW = {
    "opened_at": datetime(2026, 3, 1, tzinfo=UTC),
    "last_at": datetime(2026, 3, 1, tzinfo=UTC),
    "stage": "call",
    "closed": False,
    "trouble": "{}",
    "danger": False,
}


def test_a_moment_comes_back_in_utc(store: Store) -> None:
    """Tests that a moment of another time zone comes back as the same moment in UTC."""
    there = timezone(timedelta(hours=5, minutes=45))
    moment = datetime(2026, 6, 30, 23, 59, 59, 999_999, tzinfo=there)
    with store.writing() as opened:
        row = {"name": "ada", "role": "office", "password": "x", "since": moment}
        opened.execute(insert(USERS).values(row))
    with store.reading() as opened:
        back = opened.execute(select(USERS.c.since)).scalar_one()
    assert back == moment
    assert back.tzinfo is UTC
    assert back.microsecond == 999_999


@given(st.datetimes(timezones=st.timezones()))
def test_every_moment_survives(moment: datetime) -> None:
    """Tests that no moment loses a microsecond, before 1970 as after."""
    column = UtcDateTime()
    kept = column.process_bind_param(moment, DIALECT)
    assert column.process_result_value(kept, DIALECT) == moment.astimezone(UTC)


def test_a_moment_without_zone_is_refused(store: Store) -> None:
    """Tests that a moment that could be anybody's is not kept."""
    row = {"name": "ada", "role": "office", "password": "x", "since": datetime(2026, 3, 1)}  # noqa: DTZ001
    with pytest.raises(StatementError, match="no time zone"), store.writing() as opened:
        opened.execute(insert(USERS).values(row))


def test_sums_of_money_are_whole(store: Store) -> None:
    """Tests that a sum of cents is an int, also where the database makes it a decimal."""
    with store.writing() as opened:
        for number, fee in enumerate((8950, 105)):
            opened.execute(insert(JOBS).values(ROW | {"id": str(number), "fee": fee}))
    with store.reading() as opened:
        total = opened.execute(select(func.sum(JOBS.c.fee, type_=Cents))).scalar_one()
    assert total == 9055
    assert type(total) is int


@pytest.mark.parametrize("amount", [89.5, "89", True])
def test_no_money_but_whole_cents(amount: object) -> None:
    """Tests that a fraction, words or a yes is no amount."""
    with pytest.raises(TypeError, match="whole cents"):
        Cents().process_bind_param(amount, DIALECT)


def test_a_transaction_is_all_or_none(store: Store) -> None:
    """Tests that a failure in the middle leaves nothing behind."""

    def half() -> None:
        with store.writing() as opened:
            opened.execute(insert(SETTINGS).values(name="currency", value="GBP"))
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half()
    with store.reading() as opened:
        assert opened.execute(select(SETTINGS)).all() == []
