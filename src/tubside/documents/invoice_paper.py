"""An invoice or a credit note on paper, with the same for machines inside."""

from __future__ import annotations

from decimal import Decimal

from tubside.documents.amounts import decimal_text
from tubside.documents.bill_check import check_bill
from tubside.documents.invoice import Bill, BillLine, CreditNote, Invoice
from tubside.documents.sheet import (
    Attached,
    Block,
    Cell,
    Column,
    Pairs,
    Rows,
    Sheet,
    Square,
    Sums,
    day,
    machine_rows,
    points,
    prose,
    said,
)
from tubside.documents.transfer_code import transfer_picture, transfer_text
from tubside.documents.typesetting import typeset
from tubside.documents.ubl import REASONS, bill_xml, payment_terms

UNITS = {"C62": "", "HUR": "h", "MIN": "min", "KMT": "km", "MTR": "m", "LTR": "l", "DAY": "d"}
NOT_TAXED = {"Z": "at zero rate", "E": "exempt", "O": "outside the tax", "AE": "reverse charge"}


def bill_pdf(bill: Bill) -> bytes:
    """Return the bill as PDF/A-3b with its UBL file attached; a draft is PDF/A-2b without.

    Raises
    ------
    DocumentError
        When its lines and tax do not add up, or the transfer code cannot be made.
    """
    return typeset(bill_sheet(bill))


def bill_sheet(bill: Bill) -> Sheet:
    """Return what stands on the paper.

    Raises
    ------
    DocumentError
        When its lines and tax do not add up, or the transfer code cannot be made.
    """
    check_bill(bill)
    credit = bill if isinstance(bill, CreditNote) else None
    kind = "credit-note" if credit else "invoice"
    attached = None
    if not bill.draft:
        words = "The same for machines: UBL 2.1"
        attached = Attached(f"{kind}.xml", bill_xml(bill), "text/xml", words)
    blocks: tuple[Block, ...] = (
        *prose("Why", credit.reason if credit else ""),
        *_machine(bill),
        _lines(bill),
        _sums(bill),
        *_tax(bill),
        *_payment(bill),
        *points("Warranty", bill.warranty),
        *prose("Safety test", bill.safety),
        *prose("Notes", *bill.notes),
    )
    return Sheet(
        title=bill.title or ("Credit note" if credit else "Invoice"),
        number="" if bill.draft else bill.number,
        dated=bill.issued,
        sender=bill.seller,
        to=_buyer(bill),
        particulars=_particulars(bill),
        blocks=blocks,
        attached=attached,
        mark="DRAFT: not an invoice" if bill.draft else "",
    )


def _buyer(bill: Bill) -> tuple[str, ...]:
    """Whoever pays, and the number of their tax where they have one."""
    buyer = bill.buyer
    number = f"{buyer.tax_number_label} {buyer.tax_number}" if buyer.tax_number else ""
    return (*buyer.lines(), *([number] if number else []))


def _particulars(bill: Bill) -> tuple[tuple[str, str], ...]:
    credit = bill if isinstance(bill, CreditNote) else None
    corrects = f"{credit.corrects}, {day(credit.corrects_issued)}" if credit else ""
    due = bill.due if isinstance(bill, Invoice) else None
    rows = (
        ("Credits invoice", corrects.removesuffix(", ")),
        ("Due", day(due)),
        ("Work done", day(bill.delivered)),
        ("Job", bill.job),
        ("Your reference", bill.buyer_reference),
        ("Done for", bill.customer),
    )
    return said(rows)


def _machine(bill: Bill) -> tuple[Block, ...]:
    rows = (
        *machine_rows(bill.machine),
        *said((("Reported", bill.reported), ("Found", bill.found), ("Done", bill.done))),
    )
    return (Pairs("The work", rows),) if rows else ()


def _lines(bill: Bill) -> Rows:
    columns = (
        Column("What", 1),
        Column("Quantity", right=True),
        Column("Price", right=True),
        Column(bill.tax_name, right=True),
        Column(f"Without {bill.tax_name}", right=True),
    )
    return Rows("What is charged", columns, tuple(_line(bill, line) for line in bill.lines))


def _line(bill: Bill, line: BillLine) -> tuple[Cell, ...]:
    small = [f"No. {line.article}" if line.article else "", line.warranty]
    if line.discount:
        why = line.discount_reason or "discount"
        small.append(f"{why}: {bill.currency.text(-line.discount)}")
    unit = UNITS.get(line.unit, line.unit)
    quantity = f"{decimal_text(line.quantity)} {unit}".strip()
    return (
        (line.text, " \N{MIDDLE DOT} ".join(part for part in small if part)),
        (quantity, ""),
        (bill.currency.text(line.unit_price), ""),
        (_rate(line.tax_category, line.tax_rate), ""),
        (bill.currency.text(line.net), ""),
    )


def _rate(category: str, rate: Decimal) -> str:
    return NOT_TAXED.get(category) or f"{decimal_text(rate)}\N{NO-BREAK SPACE}%"


def _sums(bill: Bill) -> Sums:
    text = bill.currency.text
    credit = isinstance(bill, CreditNote)
    rows = [(f"Total without {bill.tax_name}", text(bill.net), False)]
    rows += [
        (f"{bill.tax_name} {_rate(part.category, part.rate)}", text(part.tax), False)
        for part in bill.tax
    ]
    rows.append(("Total", text(bill.gross), not (bill.prepaid or bill.rounding)))
    if bill.prepaid:
        rows.append(("Already paid", text(-bill.prepaid), False))
    if bill.rounding:
        rows.append(("Rounding", text(bill.rounding), False))
    if bill.prepaid or bill.rounding:
        rows.append(("To be given back" if credit else "To pay", text(bill.payable), True))
    return Sums("", tuple(rows))


def _tax(bill: Bill) -> tuple[Block, ...]:
    """The tax table where there is more than one rate, and why where nothing is due."""
    reasons = [part.exemption or REASONS.get(part.category, "") for part in bill.tax]
    blocks: tuple[Block, ...] = prose("", *reasons)
    if len(bill.tax) < 2:
        return blocks
    columns = (
        Column("Rate", 1),
        Column("On", 1, right=True),
        Column(bill.tax_name, 1, right=True),
    )
    rows = tuple(
        (
            (_rate(part.category, part.rate), ""),
            (bill.currency.text(part.taxable), ""),
            (bill.currency.text(part.tax), ""),
        )
        for part in bill.tax
    )
    return (Rows(f"{bill.tax_name} by rate", columns, rows), *blocks)


def _payment(bill: Bill) -> tuple[Block, ...]:
    payment, credit = bill.payment, isinstance(bill, CreditNote)
    terms = payment_terms(bill)
    if payment is None or credit:
        return prose("Payment", terms)
    rows = said(
        (
            ("Terms", terms),
            ("To", payment.account_name),
            ("IBAN", payment.iban),
            ("BIC", payment.bic),
            ("Account", payment.account),
            ("Reference", payment.reference or bill.number),
        )
    )
    blocks: list[Block] = [Pairs("How to pay", rows)]
    if (
        payment.transfer_code
        and bill.currency.code == "EUR"
        and bill.payable > 0
        and not bill.draft
    ):
        text = transfer_text(
            name=payment.account_name or bill.seller.name,
            iban=payment.iban,
            bic=payment.bic,
            cents=bill.payable,
            reference=payment.reference or bill.number,
        )
        words = (
            "A banking app reads this code (EPC069-12).",
            "Compare name and amount before you agree.",
        )
        blocks.append(Square("Pay with a code", words, transfer_picture(text)))
    return tuple(blocks)
