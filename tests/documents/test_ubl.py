"""The UBL file of a bill keeps the arithmetic of EN 16931, checked by a list of our own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from papers import CUSTOMER, EUR, SHOP, credit_note, invoice
from tubside.documents.amounts import Currency
from tubside.documents.invoice import BillLine, Invoice, Payment, TaxPart
from tubside.documents.ubl import EN_16931, PEPPOL, bill_xml, lacking
from tubside.errors import DocumentError
from ubl_rules import SPACE, broken


def said(xml: bytes, path: str) -> str | None:
    """The words at a path of the file."""
    return ET.fromstring(xml).findtext(path, None, SPACE)  # noqa: S314 - our own file


def taxed(lines: tuple[BillLine, ...]) -> tuple[TaxPart, ...]:
    """The tax table of lines, each rate rounded once."""
    keys = dict.fromkeys((line.tax_category, line.tax_rate) for line in lines)
    parts = []
    for category, rate in keys:
        nets = [
            line.net for line in lines if (line.tax_category, line.tax_rate) == (category, rate)
        ]
        tax = int((sum(nets) * rate / 100).quantize(Decimal(1), ROUND_HALF_UP))
        why = "small business" if category == "E" else ""
        parts.append(
            TaxPart(category=category, rate=rate, taxable=sum(nets), tax=tax, exemption=why)
        )
    return tuple(parts)


def test_both_samples_keep_every_rule() -> None:
    """Tests an invoice and a credit note against the whole list."""
    assert broken(bill_xml(invoice())) == set()
    assert broken(bill_xml(credit_note())) == set()
    assert said(bill_xml(credit_note()), ".//cac:InvoiceDocumentReference/cbc:ID") == "2026-0042"


def test_the_base_example_of_peppol() -> None:
    """Tests the numbers of the published base example.

    OpenPeppol, peppol-bis-invoice-3, rules/examples/base-example.xml: 7 days at 400 and -3 days
    at 500, a charge of 25 on the document, 25 % on 1325: 331.25, in all 1656.25 EUR. The charge
    stands here as a line of its own, which leaves every total from the taxable amount on.
    """
    rate = Decimal(25)
    lines = (
        BillLine(
            text="a", quantity=Decimal(7), unit="DAY", unit_price=40000, net=280000, tax_rate=rate
        ),
        BillLine(
            text="b", quantity=Decimal(-3), unit="DAY", unit_price=50000, net=-150000, tax_rate=rate
        ),
        BillLine(text="insurance", quantity=Decimal(1), unit_price=2500, net=2500, tax_rate=rate),
    )
    bill = replace(invoice(), lines=lines, tax=taxed(lines), prepaid=0)
    xml = bill_xml(bill)
    assert broken(xml) == set()
    printed = {
        "TaxExclusiveAmount": "1325",
        "TaxInclusiveAmount": "1656.25",
        "PayableAmount": "1656.25",
    }
    for name, amount in printed.items():
        assert Decimal(said(xml, f"cac:LegalMonetaryTotal/cbc:{name}") or "") == Decimal(amount)
    assert said(xml, "cac:TaxTotal/cbc:TaxAmount") == "331.25"


TOTAL = "cac:LegalMonetaryTotal/cbc:"
SUB = "cac:TaxTotal/cac:TaxSubtotal/"
FIRST = "cac:InvoiceLine/"
SELLER = "cac:AccountingSupplierParty/cac:Party/"


@pytest.mark.parametrize(
    ("rule", "path", "words"),
    [
        ("BR-CO-10", f"{TOTAL}LineExtensionAmount", "198.84"),
        ("BR-CO-13", f"{TOTAL}TaxExclusiveAmount", "198.84"),
        ("BR-CO-14", "cac:TaxTotal/cbc:TaxAmount", "37.77"),
        ("BR-CO-15", f"{TOTAL}TaxInclusiveAmount", "236.60"),
        ("BR-CO-16", f"{TOTAL}PayableAmount", "236.61"),
        ("BR-CO-17", f"{SUB}cac:TaxCategory/cbc:Percent", "18"),
        ("BR-S-08", f"{SUB}cbc:TaxableAmount", "199.83"),
        ("BR-S-05", f"{SUB}cac:TaxCategory/cbc:Percent", "0"),
        ("BR-E-10", f"{SUB}cac:TaxCategory/cbc:ID", "E"),
        ("BR-Z-01", f"{FIRST}cac:Item/cac:ClassifiedTaxCategory/cbc:ID", "Z"),
        ("R120", f"{FIRST}cac:Price/cbc:PriceAmount", "65.03"),
        ("BR-27", f"{FIRST}cac:Price/cbc:PriceAmount", "-65"),
        ("BR-DEC", f"{TOTAL}PayableAmount", "186.610"),
        ("BR-25", f"{FIRST}cac:Item/cbc:Name", None),
        ("R008", f"{FIRST}cac:Item/cbc:Name", " "),
        ("R051", "cbc:DocumentCurrencyCode", "PLN"),
        ("BR-01", "cbc:CustomizationID", None),
        ("BR-04", "cbc:InvoiceTypeCode", "387"),
        ("BR-CO-25", "cbc:DueDate", None),
        ("BR-CO-18", "cac:TaxTotal/cac:TaxSubtotal", None),
        ("BR-CO-26", f"{SELLER}cac:PartyTaxScheme/cac:TaxScheme/cbc:ID", "TAX"),
        ("BR-CO-09", f"{SELLER}cac:PartyTaxScheme/cbc:CompanyID", "123456789"),
        ("BR-S-02", f"{SELLER}cac:PartyTaxScheme", None),
        ("BR-09", f"{SELLER}cac:PostalAddress/cac:Country", None),
        ("R020", "cbc:CustomizationID", PEPPOL),
    ],
)
def test_every_rule_fires(rule: str, path: str, words: str | None) -> None:
    """Tests the list itself: one thing spoilt in the file and its rule is among the broken."""
    root = ET.fromstring(bill_xml(invoice()))  # noqa: S314 - our own file
    spoilt = root.find(path, SPACE)
    assert spoilt is not None
    if words is None:
        holder = root.find(path.rpartition("/")[0] or ".", SPACE)
        assert holder is not None
        holder.remove(spoilt)
    else:
        spoilt.text = words
    assert rule in broken(ET.tostring(root))


def test_the_order_of_the_schema_is_checked() -> None:
    """Tests the list itself: a head out of order is told."""
    root = ET.fromstring(bill_xml(invoice()))  # noqa: S314 - our own file
    root.append(root[0])
    assert "UBL-order" in broken(ET.tostring(root))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.decimals("0.01", "40", places=2),
            st.integers(-50_000, 50_000),
            st.sampled_from([("S", "19"), ("S", "7"), ("Z", "0"), ("E", "0")]),
        ),
        min_size=1,
        max_size=8,
    ),
    st.integers(0, 20_000),
    st.integers(-2, 2),
)
def test_any_bill_keeps_every_rule(
    drawn: list[tuple[Decimal, int, tuple[str, str]]], prepaid: int, rounding: int
) -> None:
    """Tests bills of many lines, rates, prices below zero, part payments and rounding."""
    lines = tuple(
        BillLine(
            text="x",
            quantity=quantity,
            unit_price=price,
            net=int((quantity * price).quantize(Decimal(1), ROUND_HALF_UP)),
            tax_category=category,
            tax_rate=Decimal(rate),
        )
        for quantity, price, (category, rate) in drawn
    )
    bill = replace(
        invoice(), lines=lines, tax=taxed(lines), prepaid=prepaid, rounding=rounding, due=None
    )
    assert broken(bill_xml(bill)) == set()


def test_what_is_claimed_is_kept() -> None:
    """Tests that a file claims Peppol, EN 16931 or nothing, by what the bill says."""
    assert said(bill_xml(invoice()), "cbc:CustomizationID") == EN_16931
    seller = replace(SHOP, electronic_address="desk@mill-lane.example")
    buyer = replace(CUSTOMER, electronic_address="9930:x", electronic_scheme="9930")
    networked = bill_xml(replace(invoice(), seller=seller, buyer=buyer))
    assert said(networked, "cbc:CustomizationID") == PEPPOL
    assert broken(networked) == set()
    bare = replace(invoice(), buyer=replace(CUSTOMER, country=""))
    assert lacking(bare) == ("the buyer's country",)
    assert said(bill_xml(bare), "cbc:CustomizationID") is None
    other = replace(invoice(), tax_name="GST", currency=Currency("NZD"))
    assert said(bill_xml(other), "cbc:CustomizationID") is None
    assert said(bill_xml(other), ".//cac:TaxCategory/cac:TaxScheme/cbc:ID") == "GST"


def test_outside_the_tax_no_tax_number_is_told() -> None:
    """Tests category O: no rate, a reason, no VAT number of either party (BR-O-02)."""
    line = replace(invoice().lines[0], tax_category="O", tax_rate=Decimal(0))
    part = TaxPart(category="O", rate=Decimal(0), taxable=6500, tax=0)
    bill = replace(
        invoice(), lines=(line,), tax=(part,), seller=replace(SHOP, registration="HRB 7"), prepaid=0
    )
    xml = bill_xml(bill)
    assert broken(xml) == set()
    assert said(xml, ".//cac:TaxCategory/cbc:Percent") is None


def test_a_bill_that_does_not_add_up_is_refused() -> None:
    """Tests a wrong base, a wrong tax, a missing rate and no lines."""
    bill = invoice()
    (part,) = bill.tax
    wrong = (
        replace(bill, tax=(replace(part, taxable=19884),)),
        replace(bill, tax=(replace(part, tax=3990),)),
        replace(bill, tax=()),
        replace(bill, lines=(), tax=()),
    )
    for spoilt in wrong:
        with pytest.raises(DocumentError, match="2026-0042"):
            bill_xml(spoilt)


def test_signs_that_xml_cannot_hold_are_left_out() -> None:
    """Tests mark-up and control signs in words of people."""
    line = replace(invoice().lines[0], text="a <b> & \x00\x0b\ud800 c")
    xml = bill_xml(replace(invoice(), lines=(line, *invoice().lines[1:])))
    assert said(xml, "cac:InvoiceLine/cac:Item/cbc:Name") == "a <b> & c"


def test_a_bill_without_terms_is_due_at_once() -> None:
    """Tests that BR-CO-25 is kept with neither a date nor words, and words are kept."""
    bare = replace(invoice(), due=None, payment=None)
    assert said(bill_xml(bare), "cac:PaymentTerms/cbc:Note") == "Due on receipt"
    worded = replace(invoice(), payment=Payment(terms="in 10 days", account="12-3456-7"))
    assert said(bill_xml(worded), "cac:PaymentTerms/cbc:Note") == "in 10 days"
    assert said(bill_xml(worded), "cac:PaymentMeans/cbc:PaymentMeansCode") == "30"


def test_the_class_keeps_its_sums() -> None:
    """Tests the sums of a bill against a hand count: 65.00 + 90.00 + 43.83 at 19 %."""
    bill = invoice()
    assert isinstance(bill, Invoice)
    assert (bill.net, bill.tax_total, bill.gross, bill.payable) == (19883, 3778, 23661, 18661)
    assert bill.issued == date(2026, 3, 2)
    assert EUR.text(bill.payable).split() == ["186.61", "EUR"]
