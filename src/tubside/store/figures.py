"""The few facts that the shop's figures are counted from, read as bare rows."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import BigInteger, Connection, func, select, type_coerce

from tubside.store.tables import FACTS, PAYMENTS


class Told(NamedTuple):
    """One fact: its job, its moment [microseconds since 1970], and what it says."""

    id: str
    job: str
    at: int
    kind: str
    body: str
    retracts: str | None


def told(connection: Connection, kinds: Collection[str], since: datetime) -> list[Told]:
    """Facts of some kinds from a moment on, in no particular order.

    Bare numbers for moments: ten thousand jobs are a page's worth, and turning each
    moment into a date takes longer than reading it.
    """
    columns = (
        FACTS.c.id,
        FACTS.c.job,
        type_coerce(FACTS.c.at, BigInteger),
        FACTS.c.kind,
        FACTS.c.body,
        FACTS.c.retracts,
    )
    query = select(*columns).where(FACTS.c.kind.in_(sorted(kinds)), FACTS.c.at >= since)
    return list(map(Told._make, connection.execute(query).all()))


def paid(connection: Connection, since: date) -> list[tuple[str, int]]:
    """Day (as 2026-03-04) and the cents paid on it, from a day on; what went back is taken off."""
    query = select(PAYMENTS.c.paid_on, func.sum(PAYMENTS.c.cents)).group_by(PAYMENTS.c.paid_on)
    query = query.where(PAYMENTS.c.paid_on >= since.isoformat())
    return [(str(row[0]), int(row[1])) for row in connection.execute(query)]
