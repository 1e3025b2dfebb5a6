"""What a job's deposits are: those with an invoice of their own, and those without.

An invoice of the work takes off what was paid on invoices for deposits, with the tax that stood
on them (Umsatzsteuergesetz, § 14 (5) sentence 2, from memory), and then what came in without.
Each is taken off once.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import msgspec
from sqlalchemy import Connection

from tubside.errors import MoneyError
from tubside.service.money.content import BillContent, DepositTaken
from tubside.store import money as rows
from tubside.store.money import BillRow, PaymentRow


def content_of(row: BillRow) -> BillContent:
    """What a row holds."""
    return msgspec.json.decode(row.content, type=BillContent)


def deposit_left(opened: Connection, job: str) -> int:
    """Deposits of a job that no invoice has counted yet [cents]."""
    held = sum(p.cents for p in rows.payments(opened, job) if p.bill is None)
    issued = [content_of(row) for row in rows.bills(opened, job)]
    return held - sum(content.prepaid - content.invoiced_before for content in issued)


def to_take_off(opened: Connection, job: str) -> list[DepositTaken]:
    """Deposits with an invoice of their own that no other invoice has taken off yet.

    Raises
    ------
    MoneyError
        When one of them is neither paid nor credited: it would be asked for twice.
    """
    bills, payments = rows.bills(opened, job), rows.payments(opened, job)
    taken = {one.bill for row in bills for one in content_of(row).deposits}
    found = []
    for row in bills:
        content = content_of(row)
        if not content.for_deposit or content.kind != "invoice" or row.id in taken:
            continue
        standing = row.total + _credited(row, bills)
        if standing == 0:
            continue
        if standing != _paid(row, content, payments):
            msg = (
                f"the deposit on invoice {content.number} is not paid; have it paid first, or "
                "credit it, so that nothing is asked for twice"
            )
            raise MoneyError(msg)
        found.append(DepositTaken(row.id, content.number, content.issued, row.total, content.tax))
    return found


def check_not_taken_off(bills: Sequence[BillRow], was: BillRow) -> None:
    """Refuse to credit a deposit's invoice that another one took off.

    Raises
    ------
    MoneyError
        Naming the one that did.
    """
    for row in bills:
        content = content_of(row)
        if any(one.bill == was.id for one in content.deposits):
            msg = f"invoice {content.number} took this deposit off; credit lines of that one"
            raise MoneyError(msg)


def came_in_on(opened: Connection, job: str) -> date | None:
    """The last day on which a deposit without an invoice came in; None where none did."""
    payments = [p for p in rows.payments(opened, job) if p.bill is None]
    gone = {p.reverses for p in payments}
    days = [p.paid_on for p in payments if p.cents > 0 and p.id not in gone and not p.reverses]
    return date.fromisoformat(max(days)) if days else None


def _credited(row: BillRow, bills: Sequence[BillRow]) -> int:
    """What credit notes take back of it, below nought."""
    return sum(note.total for note in bills if note.corrects == row.id)


def _paid(row: BillRow, content: BillContent, payments: Sequence[PaymentRow]) -> int:
    return content.prepaid + sum(p.cents + p.rounding for p in payments if p.bill == row.id)
