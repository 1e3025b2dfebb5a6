"""Payments: in parts, in cash to the smallest coin, deposits, and what is taken back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, cast, get_args

from sqlalchemy import Connection

from tubside.economics.billing import Move, Owed, age_words, statement
from tubside.errors import MoneyError, NotThereError
from tubside.money.amounts import LARGEST, to_step
from tubside.service.authors import Author
from tubside.service.money.deposit_bills import deposit_left
from tubside.service.money.invoicing import INVOICES, Billed, billed
from tubside.service.money.shop_money import shop_money_in
from tubside.service.refs import check_ref, need_job
from tubside.store import beside
from tubside.store import money as rows
from tubside.store.money import BillRow, PaymentRow
from tubside.store.opening import Store

Way = Literal["transfer", "cash", "card", "cheque", "other"]
WAYS: dict[Way, str] = {
    "transfer": "by transfer",
    "cash": "in cash",
    "card": "by card",
    "cheque": "by cheque",
    "other": "another way",
}


@dataclass(frozen=True, slots=True)
class Paid:
    """A payment to keep; no bill: a deposit. ``back`` is money that went back."""

    cents: int
    way: Way
    day: date
    bill: str | None = None
    back: bool = False


@dataclass(frozen=True, slots=True)
class OpenBill:
    """An invoice with what is open on it on a day."""

    billed: Billed
    owed: Owed
    days_over: int

    @property
    def age(self) -> str:
        """The column of the overdue list."""
        return age_words(self.days_over)


def pay(store: Store, job: str, author: Author, paid: Paid) -> str:
    """Keep a payment; its id. The same form sent again keeps one.

    A sum in cash is what was handed over. Where it is the open sum, to the smallest coin,
    the invoice is settled and the difference kept as rounding.

    Raises
    ------
    MoneyError
        When the sum cannot be, or is more than is open.
    NotThereError
        When the invoice is not one of this job.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    if not 0 < paid.cents <= LARGEST or paid.way not in get_args(Way):
        msg = "a payment is more than nought, and came one of the ways listed"
        raise MoneyError(msg)
    with store.writing() as opened:
        need_job(opened, job)
        there = rows.payment(opened, name)
        if not rows.must_be_new(there, name, same=there is not None and there.job == job):
            return name
        cents = -paid.cents if paid.back else paid.cents
        step = shop_money_in(opened).rules().cash_step if paid.way == "cash" else 1
        rounding = _rounding(opened, job, paid, cents, step)
        day = paid.day.isoformat()
        row = PaymentRow(name, job, paid.bill, cents, rounding, paid.way, None, day, now)
        rows.add(opened, row)
    return name


def _rounding(opened: Connection, job: str, paid: Paid, cents: int, step: int) -> int:
    """What the smallest coin settles; refuses what is more than is open."""
    if paid.bill is None:
        if paid.back and paid.cents > deposit_left(opened, job):
            msg = "more would go back than came in"
            raise MoneyError(msg)
        return 0
    row = rows.bill(opened, paid.bill)
    if row is None or row.job != job or row.series != INVOICES:
        msg = "there is no such invoice of this job"
        raise NotThereError(msg)
    left = owed_on(opened, row).left
    if cents == to_step(left, step):
        return left - cents
    if (not paid.back and cents > left) or (paid.back and cents < min(left, 0)):
        msg = "this is more than is open on the invoice; what is beyond it is a deposit"
        raise MoneyError(msg)
    return 0


def take_payment_back(store: Store, job: str, author: Author, payment: str) -> str:
    """Take a payment back that was told wrongly: it stays, with its opposite beside it.

    Raises
    ------
    MoneyError
        When it was taken back before, or is itself a taking back.
    NotThereError
        When the job has no such payment.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    with store.writing() as opened:
        if rows.payment(opened, name) is not None:
            return name
        was = rows.payment(opened, payment)
        if was is None or was.job != job:
            msg = "this job has no such payment"
            raise NotThereError(msg)
        taken = {p.reverses for p in rows.payments(opened, job)}
        if was.reverses is not None or payment in taken:
            msg = "this payment was taken back before"
            raise MoneyError(msg)
        _check_spent(opened, was)
        day = now.astimezone().date().isoformat()
        row = PaymentRow(name, job, was.bill, -was.cents, -was.rounding, was.way, was.id, day, now)
        rows.add(opened, row)
    return name


def _check_spent(opened: Connection, was: PaymentRow) -> None:
    """A deposit that an invoice counted stays counted."""
    if was.bill is None and was.cents > deposit_left(opened, was.job):
        msg = "an invoice counted this deposit; pay it back there, or credit the invoice"
        raise MoneyError(msg)


def owed_on(opened: Connection, row: BillRow) -> Owed:
    """What is open on an invoice, read in a transaction."""
    return _owed(billed(row), rows.bills(opened, row.job), rows.payments(opened, row.job))


def _owed(one: Billed, bills: Sequence[BillRow], payments: Sequence[PaymentRow]) -> Owed:
    given = -sum(note.total for note in bills if note.corrects == one.id)
    paid = sum(p.cents + p.rounding for p in payments if p.bill == one.id)
    content = one.content
    return Owed(content.total, given, content.prepaid + paid, content.due_on)


def open_bills(store: Store, day: date, job: str | None = None) -> list[OpenBill]:
    """Invoices of a job, or those of all jobs with something open; the longest over first."""
    with store.reading() as opened:
        bills, payments = rows.bills(opened, job), rows.payments(opened, job)
    notes: dict[str, list[BillRow]] = defaultdict(list)
    paid: dict[str, list[PaymentRow]] = defaultdict(list)
    for note in bills:
        notes[note.corrects or ""].append(note)
    for one in payments:
        paid[one.bill or ""].append(one)
    found = []
    for row in bills:
        if row.series == INVOICES:
            told = billed(row)
            owed = _owed(told, notes[row.id], paid[row.id])
            found.append(OpenBill(told, owed, owed.days_over(day)))
    if job is not None:
        return found
    left = [one for one in found if one.owed.left]
    return sorted(left, key=lambda one: (-one.days_over, one.billed.content.due_on))


def payments_of(store: Store, job: str) -> list[PaymentRow]:
    """Payments of a job, as they were kept."""
    with store.reading() as opened:
        return rows.payments(opened, job)


def free_deposit(store: Store, job: str) -> int:
    """Deposits of a job that no invoice has counted yet [cents]."""
    with store.reading() as opened:
        return deposit_left(opened, job)


def statement_of(store: Store, person: str, since: date) -> tuple[int, list[tuple[Move, int]]]:
    """What was open with a person before a day, and each move from it on.

    The payments of every job that has a bill of theirs count, deposits too.
    """
    with store.reading() as opened:
        versions = beside.versions_of(opened, person)
        bills = rows.bills(opened, person=versions)
        jobs = dict.fromkeys(row.job for row in bills)
        payments = [one for job in jobs for one in rows.payments(opened, job)]
    moves = [_bill_move(row) for row in bills]
    mine = {row.id for row in bills}
    moves += [_payment_move(p) for p in payments if p.bill is None or p.bill in mine]
    return statement(moves, since)


def _bill_move(row: BillRow) -> Move:
    content = billed(row).content
    kind = "Invoice" if content.kind == "invoice" else f"Credit note on {content.corrects},"
    if content.for_deposit and content.kind == "invoice":
        kind = "Invoice for a deposit"
    words = f"{kind} {content.number}"
    if content.deposits:
        words += ", less " + " and ".join(f"invoice {one.number}" for one in content.deposits)
    return Move(content.issued, words, content.total - content.invoiced_before)


def _payment_move(row: PaymentRow) -> Move:
    what = "Deposit" if row.bill is None else "Payment"
    words = f"{what} {WAYS.get(cast('Way', row.way), '')}"
    if row.reverses:
        words += ", taken back"
    elif row.cents < 0:
        words += ", paid back"
    return Move(date.fromisoformat(row.paid_on), words, -(row.cents + row.rounding))
