"""An invoice or a credit note for machines: UBL 2.1, by the rules of EN 16931.

OASIS, *Universal Business Language Version 2.1* (2013), Invoice and CreditNote; EN 16931-1:2017
for what stands in it, CEN/TS 16931-3-2 for where; OpenPeppol, *Peppol BIS Billing 3.0* for what
a network asks for besides. The file claims the rules it keeps and no others: those of Peppol
when both parties have an electronic address, those of EN 16931 when nothing is `lacking`, and
otherwise none.
"""

from __future__ import annotations

from datetime import date

from tubside.documents.amounts import decimal_text
from tubside.documents.bill_check import check_bill
from tubside.documents.invoice import Bill, BillLine, CreditNote, Invoice, TaxPart
from tubside.documents.ubl_parts import Branch, party_id_scheme, put_party

CONTENT_TYPE = "application/xml"
EN_16931 = "urn:cen.eu:en16931:2017"
PEPPOL = f"{EN_16931}#compliant#urn:fdc:peppol.eu:2017:poacc:billing:3.0"
PEPPOL_PROCESS = "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0"
OTHER_TAXES = {"gst": "GST", "sales tax": "TAX"}  # no value added tax: EN 16931 is silent there
REASONS = {"O": "Not subject to VAT", "AE": "Reverse charge"}
AT_ONCE = "Due on receipt"


def bill_xml(bill: Bill) -> bytes:
    """Return the bill as a UBL file.

    Raises
    ------
    DocumentError
        When its lines and its tax do not add up.
    """
    check_bill(bill)
    name = "CreditNote" if isinstance(bill, CreditNote) else "Invoice"
    root = Branch.root(name)
    _put_head(root, bill)
    put_party(root, "AccountingSupplierParty", bill.seller, tax=_scheme(bill), told=_taxed(bill))
    put_party(root, "AccountingCustomerParty", bill.buyer, tax=_scheme(bill), told=_taxed(bill))
    if bill.delivered:
        root.put("cac:Delivery").say("cbc:ActualDeliveryDate", bill.delivered.isoformat())
    _put_payment(root, bill)
    _put_tax(root, bill)
    _put_totals(root, bill)
    for place, line in enumerate(bill.lines, 1):
        _put_line(root, bill, line, place)
    return root.file()


def lacking(bill: Bill) -> tuple[str, ...]:
    """Return what EN 16931 asks for and the bill does not say, in words; empty when nothing.

    The rules meant: BR-02, 06 to 11, BR-CO-26, BR-E-10, BR-AE-02, BR-DEC.
    """
    both = (("seller", bill.seller), ("buyer", bill.buyer))
    wants = [f"the {who}'s name" for who, party in both if not party.name]
    wants += [f"the {who}'s country" for who, party in both if len(party.country) != 2]
    if not bill.number or bill.draft:
        wants.append("the number")
    if bill.tax_name.lower() in OTHER_TAXES:
        wants.append("a value added tax")
    if bill.currency.exponent > 2:
        wants.append("a currency of at most two digits")
    vat = party_id_scheme(bill.seller) == "VAT" and _taxed(bill)
    if not (vat or bill.seller.registration):
        wants.append("the seller's VAT number with its country letters, or company number")
    categories = {part.category: part for part in bill.tax}
    if "E" in categories and not categories["E"].exemption:
        wants.append("why it is exempt from tax")
    if "AE" in categories and not (bill.buyer.tax_number or bill.buyer.registration):
        wants.append("the buyer's VAT number")
    if "O" in categories and len(categories) > 1:
        wants.append("one kind of tax: what is outside it goes on a bill of its own")
    return tuple(wants)


def _scheme(bill: Bill) -> str:
    """The code of the tax."""
    return OTHER_TAXES.get(bill.tax_name.lower(), "VAT")


def _taxed(bill: Bill) -> bool:
    """Whether tax numbers may be told: never when all is outside the tax (BR-O-02)."""
    return any(part.category != "O" for part in bill.tax)


def _put_head(root: Branch, bill: Bill) -> None:
    credit = bill if isinstance(bill, CreditNote) else None
    if not lacking(bill):
        networked = bill.seller.electronic_address and bill.buyer.electronic_address
        root.say("cbc:CustomizationID", PEPPOL if networked else EN_16931)
        root.say("cbc:ProfileID", PEPPOL_PROCESS if networked else "")
    root.say("cbc:ID", bill.number)
    root.say("cbc:IssueDate", bill.issued.isoformat())
    if isinstance(bill, Invoice) and bill.due:
        root.say("cbc:DueDate", bill.due.isoformat())
    kind = "cbc:CreditNoteTypeCode" if credit else "cbc:InvoiceTypeCode"
    root.say(kind, "381" if credit else _invoice_code(bill))
    said = (credit.reason if credit else "", bill.done, bill.safety, *bill.warranty, *bill.notes)
    root.say("cbc:Note", " ".join(part for part in said if part))
    root.say("cbc:DocumentCurrencyCode", bill.currency.code)
    root.say("cbc:BuyerReference", bill.buyer_reference or bill.job or bill.number)
    for number, issued in _formers(bill):
        former = root.put("cac:BillingReference").put("cac:InvoiceDocumentReference")
        former.say("cbc:ID", number)
        former.say("cbc:IssueDate", issued.isoformat() if issued else "")


def _formers(bill: Bill) -> tuple[tuple[str, date | None], ...]:
    """BG-3: the invoice that it credits, or those of the deposits that come off."""
    if isinstance(bill, CreditNote):
        return ((bill.corrects, bill.corrects_issued),)
    return bill.deposits if isinstance(bill, Invoice) else ()


def _invoice_code(bill: Bill) -> str:
    """UNTDID 1001: 386 is an invoice for payment in advance, 380 any other."""
    return "386" if isinstance(bill, Invoice) and bill.for_deposit else "380"


def _put_payment(root: Branch, bill: Bill) -> None:
    payment = bill.payment
    account = payment.iban or payment.account if payment else ""
    if payment and account:
        means = root.put("cac:PaymentMeans")
        means.say("cbc:PaymentMeansCode", "58" if payment.iban else "30")  # UNCL 4461
        means.say("cbc:PaymentID", payment.reference or bill.number)
        payee = means.put("cac:PayeeFinancialAccount")
        payee.say("cbc:ID", "".join(account.split()))
        payee.say("cbc:Name", payment.account_name)
        if payment.bic:
            payee.put("cac:FinancialInstitutionBranch").say("cbc:ID", payment.bic)
    terms = payment_terms(bill)
    if terms:
        root.put("cac:PaymentTerms").say("cbc:Note", terms)


def payment_terms(bill: Bill) -> str:
    """Return when to pay, in words; a bill with no date and no words is due at once."""
    if bill.payment and bill.payment.terms:
        return bill.payment.terms
    due = isinstance(bill, Invoice) and bill.due
    return AT_ONCE if isinstance(bill, Invoice) and not due and bill.payable > 0 else ""


def _put_tax(root: Branch, bill: Bill) -> None:
    code = bill.currency.code
    total = root.put("cac:TaxTotal")
    total.say("cbc:TaxAmount", bill.currency.number(bill.tax_total), currencyID=code)
    for part in bill.tax:
        sub = total.put("cac:TaxSubtotal")
        sub.say("cbc:TaxableAmount", bill.currency.number(part.taxable), currencyID=code)
        sub.say("cbc:TaxAmount", bill.currency.number(part.tax), currencyID=code)
        _put_category(sub.put("cac:TaxCategory"), part, _scheme(bill))


def _put_category(branch: Branch, of: TaxPart | BillLine, scheme: str) -> None:
    """A tax category; only a part of the tax table says why nothing is due."""
    category = of.category if isinstance(of, TaxPart) else of.tax_category
    rate = of.rate if isinstance(of, TaxPart) else of.tax_rate
    branch.say("cbc:ID", category)
    branch.say("cbc:Percent", "" if category == "O" else decimal_text(rate))
    if isinstance(of, TaxPart) and category not in {"S", "Z"}:
        branch.say("cbc:TaxExemptionReason", of.exemption or REASONS.get(category, ""))
    branch.put("cac:TaxScheme").say("cbc:ID", scheme)


def _put_totals(root: Branch, bill: Bill) -> None:
    total = root.put("cac:LegalMonetaryTotal")
    rows = (
        ("LineExtensionAmount", bill.net, True),
        ("TaxExclusiveAmount", bill.net, True),
        ("TaxInclusiveAmount", bill.gross, True),
        ("PrepaidAmount", bill.prepaid, bill.prepaid != 0),
        ("PayableRoundingAmount", bill.rounding, bill.rounding != 0),
        ("PayableAmount", bill.payable, True),
    )
    for name, cents, told in rows:
        if told:
            total.say(f"cbc:{name}", bill.currency.number(cents), currencyID=bill.currency.code)


def _put_line(root: Branch, bill: Bill, line: BillLine, place: int) -> None:
    """A line; a price below zero becomes a quantity below zero (BR-27)."""
    credit, code = isinstance(bill, CreditNote), bill.currency.code
    sign = -1 if line.unit_price < 0 else 1
    branch = root.put("cac:CreditNoteLine" if credit else "cac:InvoiceLine")
    branch.say("cbc:ID", str(place))
    branch.say("cbc:Note", line.warranty)
    quantity = "cbc:CreditedQuantity" if credit else "cbc:InvoicedQuantity"
    branch.say(quantity, decimal_text(sign * line.quantity), unitCode=line.unit)
    branch.say("cbc:LineExtensionAmount", bill.currency.number(line.net), currencyID=code)
    if line.discount:
        less = branch.put("cac:AllowanceCharge")
        less.say("cbc:ChargeIndicator", "false")
        less.say("cbc:AllowanceChargeReason", line.discount_reason or "Discount")
        less.say("cbc:Amount", bill.currency.number(line.discount), currencyID=code)
    item = branch.put("cac:Item")
    item.say("cbc:Name", line.text)
    if line.article:
        item.put("cac:SellersItemIdentification").say("cbc:ID", line.article)
    _put_category(item.put("cac:ClassifiedTaxCategory"), line, _scheme(bill))
    price = bill.currency.number(sign * line.unit_price)
    branch.put("cac:Price").say("cbc:PriceAmount", price, currencyID=code)
