"""The rules that a bill's UBL file must keep, as a list of our own.

This is not the official validator (a set of Schematron files that no package carries): it is
a list written by hand from the rules' published texts, EN 16931-1:2017, 6.4, in the wording
of the validation artefacts 1.3 of CEN/TC 434, and the rules of Peppol BIS Billing 3.0 that
bear on what is written here. The rules were read second hand; the numbers of the published
base example of Peppol pass them, and every rule is shown to fire.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from xml.etree import ElementTree as ET

SPACE = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}
CENT = Decimal("0.01")
ORDER = (  # of UBL 2.1, as far as written here
    *("CustomizationID", "ProfileID", "ID", "IssueDate", "DueDate", "InvoiceTypeCode"),
    *("CreditNoteTypeCode", "Note", "DocumentCurrencyCode", "BuyerReference", "BillingReference"),
    *("AccountingSupplierParty", "AccountingCustomerParty", "Delivery", "PaymentMeans"),
    *("PaymentTerms", "TaxTotal", "LegalMonetaryTotal", "InvoiceLine", "CreditNoteLine"),
)


def broken(xml: bytes) -> set[str]:
    """Names of the rules that the file breaks."""
    root = ET.fromstring(xml)  # noqa: S314 - written by this project a moment ago
    checks = (_shape, _head, _totals, _taxes, _lines, _parties)
    return {rule for check in checks for rule in check(root)}


def _amount(at: ET.Element, path: str) -> Decimal:
    return Decimal(at.findtext(path, "0", SPACE))


def _lines_of(root: ET.Element) -> list[ET.Element]:
    return root.findall("cac:InvoiceLine", SPACE) + root.findall("cac:CreditNoteLine", SPACE)


def _shape(root: ET.Element) -> Iterator[str]:
    """Order and emptiness: UBL 2.1, PEPPOL-EN16931-R008, BR-DEC, R051."""
    names = [ORDER.index(child.tag.rpartition("}")[2]) for child in root]
    if names != sorted(names):
        yield "UBL-order"
    if any(not len(at) and not (at.text or "").strip() for at in root.iter()):
        yield "R008"
    code = root.findtext("cbc:DocumentCurrencyCode", "", SPACE)
    for at in root.iter():
        if "currencyID" in at.attrib:
            if at.attrib["currencyID"] != code:
                yield "R051"
            exponent = Decimal(at.text or "").as_tuple().exponent
            if isinstance(exponent, int) and exponent < -2:
                yield "BR-DEC"


def _head(root: ET.Element) -> Iterator[str]:
    """What must be said at all."""
    wanted = {
        "BR-01": "cbc:CustomizationID",
        "BR-02": "cbc:ID",
        "BR-03": "cbc:IssueDate",
        "BR-05": "cbc:DocumentCurrencyCode",
        "R003": "cbc:BuyerReference",
        "BR-12": "cac:LegalMonetaryTotal/cbc:LineExtensionAmount",
        "BR-13": "cac:LegalMonetaryTotal/cbc:TaxExclusiveAmount",
        "BR-14": "cac:LegalMonetaryTotal/cbc:TaxInclusiveAmount",
        "BR-15": "cac:LegalMonetaryTotal/cbc:PayableAmount",
        "BR-CO-18": "cac:TaxTotal/cac:TaxSubtotal",
    }
    yield from (rule for rule, path in wanted.items() if root.find(path, SPACE) is None)
    kind = root.findtext("cbc:InvoiceTypeCode", "", SPACE)
    if kind + root.findtext("cbc:CreditNoteTypeCode", "", SPACE) not in {"380", "381", "386"}:
        yield "BR-04"
    if not _lines_of(root):
        yield "BR-16"
    terms = root.findtext("cac:PaymentTerms/cbc:Note", "", SPACE)
    due = root.findtext("cbc:DueDate", "", SPACE) or terms
    if kind and _amount(root, "cac:LegalMonetaryTotal/cbc:PayableAmount") > 0 and not due:
        yield "BR-CO-25"


def _totals(root: ET.Element) -> Iterator[str]:
    """Sums of the whole: BR-CO-10 and 13 to 16, none of them with a tolerance."""
    total = root.find("cac:LegalMonetaryTotal", SPACE)
    assert total is not None
    lines = sum(_amount(line, "cbc:LineExtensionAmount") for line in _lines_of(root))
    net, bare = _amount(total, "cbc:LineExtensionAmount"), _amount(total, "cbc:TaxExclusiveAmount")
    less = _amount(total, "cbc:AllowanceTotalAmount")
    more = _amount(total, "cbc:ChargeTotalAmount")
    tax = _amount(root, "cac:TaxTotal/cbc:TaxAmount")
    gross = _amount(total, "cbc:TaxInclusiveAmount")
    paid, rounding = (
        _amount(total, "cbc:PrepaidAmount"),
        _amount(total, "cbc:PayableRoundingAmount"),
    )
    if net != lines:
        yield "BR-CO-10"
    if bare != net - less + more:
        yield "BR-CO-13"
    parts = root.findall("cac:TaxTotal/cac:TaxSubtotal", SPACE)
    if tax != sum(_amount(part, "cbc:TaxAmount") for part in parts):
        yield "BR-CO-14"
    if gross != bare + tax:
        yield "BR-CO-15"
    if _amount(total, "cbc:PayableAmount") != gross - paid + rounding:
        yield "BR-CO-16"


def _taxes(root: ET.Element) -> Iterator[str]:
    """The table of tax: BR-CO-17, and 05, 08, 09 and 10 of each category."""
    seen = set()
    for part in root.findall("cac:TaxTotal/cac:TaxSubtotal", SPACE):
        kind = part.findtext("cac:TaxCategory/cbc:ID", "", SPACE)
        rate = _amount(part, "cac:TaxCategory/cbc:Percent")
        seen.add((kind, rate))
        taxable, tax = _amount(part, "cbc:TaxableAmount"), _amount(part, "cbc:TaxAmount")
        reckoned = (taxable * rate / 100).quantize(CENT, ROUND_HALF_UP)
        if abs(reckoned - tax) >= 1:
            yield "BR-CO-17"
        if kind != "S" and tax:
            yield f"BR-{kind}-09"
        if (kind == "S") != (rate > 0):
            yield f"BR-{kind}-05"
        reason = part.find("cac:TaxCategory/cbc:TaxExemptionReason", SPACE) is not None
        if reason != (kind in {"E", "AE", "O"}):
            yield f"BR-{kind}-10"
        of_rate = [line for line in _lines_of(root) if _category(line) == (kind, rate)]
        lines = sum(_amount(line, "cbc:LineExtensionAmount") for line in of_rate)
        extra = sum(
            _amount(at, "cbc:Amount")
            * (1 if at.findtext("cbc:ChargeIndicator", "", SPACE) == "true" else -1)
            for at in root.findall("cac:AllowanceCharge", SPACE)
        )
        if abs(lines + extra - taxable) >= 1:
            yield f"BR-{kind}-08"
    yield from (
        f"BR-{_category(line)[0]}-01" for line in _lines_of(root) if _category(line) not in seen
    )
    if any(kind == "O" for kind, _ in seen) and len(seen) > 1:
        yield "BR-O-11"


def _category(line: ET.Element) -> tuple[str, Decimal]:
    path = "cac:Item/cac:ClassifiedTaxCategory/"
    return line.findtext(f"{path}cbc:ID", "", SPACE), _amount(line, f"{path}cbc:Percent")


def _lines(root: ET.Element) -> Iterator[str]:
    """Each line: BR-21 to 27, PEPPOL-EN16931-R120 (to 2 cents)."""
    for line in _lines_of(root):
        quantity = line.find("cbc:InvoicedQuantity", SPACE)
        quantity = line.find("cbc:CreditedQuantity", SPACE) if quantity is None else quantity
        if quantity is None or not quantity.attrib.get("unitCode"):
            yield "BR-23"
            continue
        if line.find("cac:Item/cbc:Name", SPACE) is None:
            yield "BR-25"
        price = _amount(line, "cac:Price/cbc:PriceAmount")
        if price < 0:
            yield "BR-27"
        less = _amount(line, "cac:AllowanceCharge/cbc:Amount")
        net = Decimal(quantity.text or "") * price - less
        if abs(net - _amount(line, "cbc:LineExtensionAmount")) > 2 * CENT:
            yield "R120"


def _parties(root: ET.Element) -> Iterator[str]:
    """Both parties: BR-06 to 11, BR-CO-09, BR-CO-26, BR-S-02, BR-O-02, R010 and R020."""
    kinds = {_category(line)[0] for line in _lines_of(root)}
    networked = "peppol" in root.findtext("cbc:CustomizationID", "", SPACE)
    roles = (("Supplier", "BR-06", "BR-09", "R020"), ("Customer", "BR-07", "BR-11", "R010"))
    for role, name, country, address in roles:
        party = root.find(f"cac:Accounting{role}Party/cac:Party", SPACE)
        assert party is not None
        if party.find("cac:PartyLegalEntity/cbc:RegistrationName", SPACE) is None:
            yield name
        if party.find("cac:PostalAddress/cac:Country/cbc:IdentificationCode", SPACE) is None:
            yield country
        if networked and party.find("cbc:EndpointID[@schemeID]", SPACE) is None:
            yield address
        tax = {
            at.findtext("cac:TaxScheme/cbc:ID", "", SPACE): at.findtext("cbc:CompanyID", "", SPACE)
            for at in party.findall("cac:PartyTaxScheme", SPACE)
        }
        if not re.match("[A-Z]{2}", tax.get("VAT", "XX")):
            yield "BR-CO-09"
        if "O" in kinds and "VAT" in tax:
            yield "BR-O-02"
        registered = party.find("cac:PartyLegalEntity/cbc:CompanyID", SPACE) is not None
        if role == "Supplier" and "VAT" not in tax and not registered:
            yield "BR-CO-26"
        if role == "Supplier" and "S" in kinds and not tax:
            yield "BR-S-02"
