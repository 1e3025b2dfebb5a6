"""Rows of money: quotes and their answers, invoices and their numbers, payments."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import Connection, Table, insert, select, update

from tubside.errors import MoneyError
from tubside.store.tables import BILLS, MONEY_NUMBERS, PAYMENTS, QUOTE_ANSWERS, QUOTES


@dataclass(frozen=True, slots=True)
class QuoteRow:
    """A quote or a stop-work note; ``content`` is JSON."""

    id: str
    job: str
    kind: str
    content: str
    hash: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """What was said to a quote, once."""

    quote: str
    agreed: bool
    way: str
    answered_at: datetime


@dataclass(frozen=True, slots=True)
class BillRow:
    """An invoice or a credit note; ``content`` is JSON, ``due_on`` an ISO day."""

    id: str
    series: str
    number: int
    job: str
    person: str | None
    corrects: str | None
    content: str
    hash: str
    total: int
    due_on: str
    issued_at: datetime


@dataclass(frozen=True, slots=True)
class PaymentRow:
    """Money in, or back out below nought [cents]."""

    id: str
    job: str
    bill: str | None
    cents: int
    rounding: int
    way: str
    reverses: str | None
    paid_on: str
    kept_at: datetime


def next_number(connection: Connection, series: str) -> int:
    """Count a series up and return its new last number.

    The row stays locked until the transaction ends, on PostgreSQL too: a number whose
    transaction is undone was never given, so none is missing and none is twice.
    """
    count = update(MONEY_NUMBERS).where(MONEY_NUMBERS.c.series == series)
    count = count.values(last=MONEY_NUMBERS.c.last + 1)
    found = connection.execute(count.returning(MONEY_NUMBERS.c.last)).scalar()
    if found is None:
        connection.execute(insert(MONEY_NUMBERS).values(series=series, last=1))
        return 1
    return int(found)


def add(connection: Connection, row: QuoteRow | AnswerRow | BillRow | PaymentRow) -> None:
    """Append a row."""
    connection.execute(insert(_table_of(row)).values(asdict(row)))


def _table_of(row: QuoteRow | AnswerRow | BillRow | PaymentRow) -> Table:
    tables: dict[type, Table] = {
        QuoteRow: QUOTES,
        AnswerRow: QUOTE_ANSWERS,
        BillRow: BILLS,
        PaymentRow: PAYMENTS,
    }
    return tables[type(row)]


def quote(connection: Connection, name: str) -> QuoteRow | None:
    """One quote or stop-work note."""
    found = connection.execute(select(QUOTES).where(QUOTES.c.id == name)).first()
    return None if found is None else QuoteRow(*found)


def quotes_of(connection: Connection, job: str) -> list[QuoteRow]:
    """All of a job, the latest first."""
    query = select(QUOTES).where(QUOTES.c.job == job)
    rows = connection.execute(query.order_by(QUOTES.c.made_at.desc(), QUOTES.c.id.desc()))
    return [QuoteRow(*row) for row in rows]


def answer(connection: Connection, name: str) -> AnswerRow | None:
    """What was said to a quote."""
    query = select(QUOTE_ANSWERS).where(QUOTE_ANSWERS.c.quote == name)
    found = connection.execute(query).first()
    return None if found is None else AnswerRow(*found)


def bill(connection: Connection, name: str) -> BillRow | None:
    """One invoice or credit note."""
    found = connection.execute(select(BILLS).where(BILLS.c.id == name)).first()
    return None if found is None else BillRow(*found)


def bills(
    connection: Connection, job: str | None = None, person: set[str] | None = None
) -> list[BillRow]:
    """Invoices and credit notes of a job, of a person's versions, or all, as issued."""
    query = select(BILLS).order_by(BILLS.c.issued_at, BILLS.c.series, BILLS.c.number)
    query = query if job is None else query.where(BILLS.c.job == job)
    query = query if person is None else query.where(BILLS.c.person.in_(sorted(person)))
    return [BillRow(*row) for row in connection.execute(query)]


def numbered(connection: Connection, series: str, number: int) -> BillRow | None:
    """The bill with a number."""
    query = select(BILLS).where(BILLS.c.series == series, BILLS.c.number == number)
    found = connection.execute(query).first()
    return None if found is None else BillRow(*found)


def payment(connection: Connection, name: str) -> PaymentRow | None:
    """One payment."""
    found = connection.execute(select(PAYMENTS).where(PAYMENTS.c.id == name)).first()
    return None if found is None else PaymentRow(*found)


def payments(connection: Connection, job: str | None = None) -> list[PaymentRow]:
    """Payments of a job, or all, as they were kept."""
    query = select(PAYMENTS).order_by(PAYMENTS.c.kept_at, PAYMENTS.c.id)
    query = query if job is None else query.where(PAYMENTS.c.job == job)
    return [PaymentRow(*row) for row in connection.execute(query)]


def must_be_new(there: object, name: str, *, same: bool) -> bool:
    """Whether a row is to be added; False for the very same one sent again.

    Raises
    ------
    MoneyError
        When something else has its id.
    """
    if there is None:
        return True
    if not same:
        msg = f"the reference {name} is taken; open the page again and send the form once more"
        raise MoneyError(msg)
    return False
