"""Column types that mean the same on SQLite and on PostgreSQL."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import BigInteger, Dialect
from sqlalchemy.types import TypeDecorator

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class UtcDateTime(TypeDecorator[datetime]):
    """A moment with its time zone, kept as whole microseconds since 1970 (UTC).

    SQLite's own date columns lose the time zone without a word; a number does not,
    and sorts rightly. A moment without a time zone raises ValueError.
    """

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Dialect) -> int | None:
        """Return the moment as microseconds."""
        if value is None:
            return None
        if value.tzinfo is None:
            msg = f"the moment {value} has no time zone"
            raise ValueError(msg)
        past = value - EPOCH
        return (past.days * 86_400 + past.seconds) * 1_000_000 + past.microseconds

    def process_result_value(self, value: int | None, _dialect: Dialect) -> datetime | None:
        """Return the microseconds as a moment in UTC."""
        if value is None:
            return None
        seconds, micros = divmod(int(value), 1_000_000)
        return datetime.fromtimestamp(seconds, UTC).replace(microsecond=micros)


class Cents(TypeDecorator[int]):
    """Money as a whole number of the smallest coin; anything else raises TypeError.

    PostgreSQL gives sums of such columns back as decimals: they come out whole here.
    """

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: object, _dialect: Dialect) -> int | None:
        """Return the cents, refusing fractions."""
        if value is None:
            return None
        if not isinstance(value, int) or isinstance(value, bool):
            msg = f"money is kept in whole cents, not as {value!r}"
            raise TypeError(msg)
        return value

    def process_result_value(self, value: int | None, _dialect: Dialect) -> int | None:
        """Return the cents as an int."""
        return None if value is None else int(value)
