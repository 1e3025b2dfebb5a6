"""An issued invoice or credit note as a document: what is printed and sent.

Who pays lives in the shop's country where nothing else was told; an address is kept as lines,
the first of which is the street.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal

from tubside.documents.amounts import Currency
from tubside.documents.invoice import Bill, BillLine, CreditNote, Invoice, Payment, TaxPart
from tubside.documents.parties import DocumentMachine
from tubside.documents.sheet import day
from tubside.documents.transfer_code import remainder_is_one
from tubside.economics.billing import Line
from tubside.money.tax import Category
from tubside.service.money.content import BillContent
from tubside.service.money.shop_party import party_of, seller_of

UNITS = {"hour": "HUR", "piece": "C62"}
NOT_REGISTERED = {"DE": "Small business: no tax is charged (§ 19 UStG)"}
"""Country -> what a bill without tax has to say; elsewhere :data:`NO_TAX`."""
NO_TAX = "The shop charges no tax"
LAW = "What the law gives the customer stands above any warranty here."


def document_of(content: BillContent, job: str = "") -> Bill:
    """Return the bill as a document; a credit note's amounts turn positive."""
    sign = -1 if content.kind == "credit" else 1
    rates = {share.category: Decimal(share.percent) for share in content.shares}
    bill = Invoice(
        number=content.number,
        issued=content.issued,
        currency=Currency(content.head.currency),
        seller=seller_of(content.head),
        buyer=party_of(
            content.buyer, content.buyer_address, content.buyer_country or content.head.country
        ),
        customer=content.done_for,
        delivered=content.done_on,
        lines=tuple(_line(line, rates, sign) for line in content.lines),
        tax=tuple(
            TaxPart(
                category=share.category,
                rate=rates[share.category],
                taxable=sign * share.base,
                tax=sign * share.tax,
                exemption=""
                if content.head.tax
                else NOT_REGISTERED.get(content.head.country, NO_TAX),
            )
            for share in content.shares
        ),
        tax_name=content.head.tax or "tax",
        prepaid=sign * content.prepaid,
        job=job,
        buyer_reference=content.buyer_reference,
        machine=DocumentMachine(kind=content.machine) if content.machine else None,
        notes=(*_deposit_notes(content), LAW),
        due=content.due_on,
        payment=_payment(content) if sign > 0 else None,
        title=_title(content),
        for_deposit=content.for_deposit,
        deposits=tuple((one.number, one.issued) for one in content.deposits),
    )
    if sign > 0:
        return bill
    same = {field.name: getattr(bill, field.name) for field in fields(Bill)}
    return CreditNote(**same, corrects=content.corrects, reason=content.reason)


def _title(content: BillContent) -> str:
    if content.kind == "credit":
        return ""
    if content.for_deposit:
        return "Invoice for a deposit"
    return "Tax invoice" if content.head.tax == "GST" else ""


def _deposit_notes(content: BillContent) -> tuple[str, ...]:
    """Deposits with the tax that fell due with them: a final invoice has to tell it."""
    text, tax = Currency(content.head.currency).text, content.head.tax
    notes = [
        f"Taken off: deposit {text(one.total)}, {text(one.tax)} of it {tax}, "
        f"on invoice {one.number} of {day(one.issued)}."
        for one in content.deposits
    ]
    if content.for_deposit and content.kind == "invoice":
        came = f" It came in on {day(content.received_on)}." if content.received_on else ""
        notes.append(f"A deposit on work to come; it comes off the invoice of the work.{came}")
    if content.prepaid_tax:
        paid = text(content.prepaid)
        notes.append(
            f"Of the {paid} paid before, {text(content.prepaid_tax)} is {tax} that fell due "
            "with it."
        )
    return tuple(notes)


def _line(line: Line, rates: Mapping[Category, Decimal], sign: int) -> BillLine:
    days = line.warranty_days
    return BillLine(
        text=line.words,
        quantity=sign * line.quantity,
        unit=UNITS[line.unit],
        unit_price=line.price,
        net=sign * line.net,
        tax_category=line.category,
        tax_rate=rates[line.category],
        warranty=f"warranty {days} days" if days else "",
    )


def _payment(content: BillContent) -> Payment:
    """How to pay; the code stands only where the account's check digits are right."""
    packed = "".join(content.iban.split()).upper()
    right = packed.isascii() and packed.isalnum() and len(packed) > 14 and remainder_is_one(packed)
    return Payment(
        terms=" ".join(content.how_to_pay.split()),
        account_name=content.head.shop,
        iban=content.iban,
        reference=content.number,
        transfer_code=right and content.head.currency == "EUR" and content.due > 0,
    )
