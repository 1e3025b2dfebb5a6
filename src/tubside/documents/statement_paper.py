"""A statement of account on paper, with what is open after every entry."""

from __future__ import annotations

from tubside.documents.sheet import (
    Block,
    Cell,
    Column,
    Pairs,
    Rows,
    Sheet,
    Sums,
    day,
    prose,
    said,
)
from tubside.documents.statement import Statement
from tubside.documents.typesetting import typeset


def statement_pdf(statement: Statement) -> bytes:
    """Return the statement as PDF/A-2b."""
    return typeset(statement_sheet(statement))


def statement_sheet(statement: Statement) -> Sheet:
    """Return what stands on a statement."""
    text, payment = statement.currency.text, statement.payment
    sums = [("To pay", text(statement.closing), True)]
    if statement.overdue:
        sums.append(("Of this overdue", text(statement.overdue), False))
    blocks: tuple[Block, ...] = (_rows(statement), Sums("", tuple(sums)))
    if payment is not None:
        how = said(
            (
                ("Terms", payment.terms),
                ("To", payment.account_name),
                ("IBAN", payment.iban),
                ("BIC", payment.bic),
                ("Account", payment.account),
                ("Reference", payment.reference),
            )
        )
        blocks += (Pairs("How to pay", how),) if how else ()
    return Sheet(
        title="Statement",
        number="",
        dated=statement.dated,
        sender=statement.shop,
        to=statement.customer.lines(),
        particulars=(("From", day(statement.first)), ("To", day(statement.last))),
        blocks=(*blocks, *prose("Notes", *statement.notes)),
    )


def _rows(statement: Statement) -> Rows:
    """Every entry, what is open running along."""
    text = statement.currency.text
    columns = (
        Column("Day"),
        Column("What", 1),
        Column("Charged", right=True),
        Column("Paid", right=True),
        Column("Open", right=True),
    )
    open_now = statement.opening
    first: tuple[Cell, ...] = (
        (day(statement.first), ""),
        ("Brought forward", ""),
        ("", ""),
        ("", ""),
        (text(open_now), ""),
    )
    rows = [first]
    for row in statement.rows:
        open_now += row.charged - row.paid
        rows.append(
            (
                (day(row.dated), ""),
                (f"{row.text} {row.number}".strip(), f"due {day(row.due)}" if row.due else ""),
                (text(row.charged) if row.charged else "", ""),
                (text(row.paid) if row.paid else "", ""),
                (text(open_now), ""),
            )
        )
    return Rows("Entries", columns, tuple(rows))
