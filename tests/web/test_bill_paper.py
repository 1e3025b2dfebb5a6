"""An invoice and its credit note come as PDF and as UBL."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import msgspec

from papers import read_pdf
from tubside.documents.invoice_paper import bill_pdf
from tubside.documents.ubl import bill_xml
from tubside.economics.billing import Line
from tubside.money.tax import Share
from tubside.service.library import Library
from tubside.service.money.bill_paper import document_of
from tubside.service.money.content import BillContent, Head
from ubl_rules import broken
from unscripted import unscripted_at

HEAD = Head(
    shop="Mill Lane Laundry Repairs",
    address="4 Mill Lane\nElverdale",
    tax_number="DE123456789",
    country="DE",
    tax="VAT",
    currency="EUR",
    percent="19",
    rounding="half-up",
    level="total",
)
CONTENT = BillContent(
    kind="invoice",
    number="7",
    head=HEAD,
    buyer="Ada Quill",
    buyer_address="1 Mill Lane\nElverdale",
    buyer_reference="",
    machine="Brackwater Wren",
    lines=[Line("labour", "Labour", Decimal("1.25"), "hour", 7200, "S", 90)],
    shares=[Share("S", Decimal(19), 9000, 1710)],
    net=9000,
    tax=1710,
    total=10710,
    prepaid=0,
    due=10710,
    issued=date(2026, 3, 2),
    due_on=date(2026, 3, 16),
    how_to_pay="By transfer",
    iban="DE89 3704 0044 0532 0130 00",
)


def test_what_was_issued_is_what_is_printed() -> None:
    """Tests sums and rules of an invoice and of the credit note that takes it back."""
    bill = document_of(CONTENT)
    assert (bill.net, bill.payable) == (CONTENT.net, CONTENT.due)
    assert broken(bill_xml(bill)) == set()
    back = msgspec.structs.replace(
        CONTENT,
        kind="credit",
        lines=[Line("labour", "Labour", Decimal("-1.25"), "hour", 7200, "S", 90)],
        shares=[Share("S", Decimal(19), -9000, -1710)],
        net=-9000,
        tax=-1710,
        total=-10710,
        due=-10710,
        corrects="7",
        reason="charged twice",
    )
    note = document_of(back)
    assert note.payable == 10710
    assert broken(bill_xml(note)) == set()
    assert "charged twice" in read_pdf(bill_pdf(note)).text()


def test_the_page_hands_out_both(tmp_path: Path) -> None:
    """Tests an invoice issued by its form, taken as PDF and as UBL."""
    shop = unscripted_at(tmp_path, Library())
    form = {
        "manner": "fixed",
        "band": "day",
        "minutes": "60",
        "line_words": "Call-out",
        "line_quantity": "1",
        "line_price": "65.00",
        "line_kind": "call-out",
        "line_days": "",
        "buyer": "Ada Quill",
        "address": "1 Mill Lane",
        "reference": "",
    }
    page = shop.post(f"/jobs/{shop.job()}/invoice", form)
    assert page.status_code == 200, page.text
    pdf = shop.get(f"{page.url.path}?as=pdf")
    assert pdf.content.startswith(b"%PDF-")
    assert "Ada Quill" in read_pdf(pdf.content).text()
    assert b"<cbc:ID>" in shop.get(f"{page.url.path}?as=xml").content
    shop.store.close()
