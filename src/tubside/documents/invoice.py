"""An invoice and a credit note: what is charged, by whom, to whom, with which tax."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tubside.documents.amounts import Currency
from tubside.documents.parties import DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One thing charged; amounts without tax, in cents."""

    text: str
    quantity: Decimal
    unit: str = "C62"  # UN/ECE Recommendation 20: C62 one, HUR hour, KMT kilometre
    unit_price: int
    net: int  # quantity times price, rounded, less the discount
    tax_category: str = "S"  # UNCL 5305: S taxed, Z at zero, E exempt, O outside, AE reverse
    tax_rate: Decimal = Decimal(0)  # [%]
    discount: int = 0
    discount_reason: str = ""
    article: str = ""  # the shop's own number of a part
    warranty: str = ""  # on this part or this labour


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxPart:
    """The tax of one category and rate, in cents."""

    category: str
    rate: Decimal  # [%]
    taxable: int
    tax: int
    exemption: str = ""  # why, for the categories E, O and AE


@dataclass(frozen=True, slots=True, kw_only=True)
class Payment:
    """How to pay."""

    terms: str = ""  # in words
    account_name: str = ""
    iban: str = ""
    bic: str = ""
    account: str = ""  # where there is no IBAN, as the country writes it
    reference: str = ""  # what to quote; an RF reference (ISO 11649) or free text
    transfer_code: bool = False  # print the EPC QR code; needs EUR and an IBAN


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """What an invoice and a credit note share; amounts in cents of ``currency``.

    A credit note's amounts are positive: what is given back.
    """

    number: str
    issued: date
    currency: Currency
    seller: Party
    buyer: Party  # whoever pays
    lines: tuple[BillLine, ...]
    tax: tuple[TaxPart, ...]
    tax_name: str = "VAT"  # or "GST", "sales tax"
    prepaid: int = 0  # deposit and part payments
    rounding: int = 0  # to the smallest coin in cash
    payment: Payment | None = None
    title: str = ""  # where the law names it, such as "Tax invoice"
    job: str = ""  # the shop's reference
    buyer_reference: str = ""  # an order, an authority number, a claim
    customer: str = ""  # for whom the work was done, when another pays
    delivered: date | None = None
    machine: DocumentMachine | None = None
    reported: str = ""
    found: str = ""
    done: str = ""
    safety: str = ""  # one line with the result of the test
    warranty: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    draft: bool = False  # not numbered yet: printed across the page

    @property
    def net(self) -> int:
        """All lines without tax [cents]."""
        return sum(line.net for line in self.lines)

    @property
    def tax_total(self) -> int:
        """All tax [cents]."""
        return sum(part.tax for part in self.tax)

    @property
    def gross(self) -> int:
        """All lines with tax [cents]."""
        return self.net + self.tax_total

    @property
    def payable(self) -> int:
        """What is still to be paid, or given back [cents]."""
        return self.gross - self.prepaid + self.rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Invoice(Bill):
    """What the shop charges."""

    due: date | None = None
    for_deposit: bool = False  # it charges a deposit on work to come
    deposits: tuple[tuple[str, date], ...] = ()  # number and day of those that come off


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditNote(Bill):
    """What the shop gives back on an earlier invoice."""

    corrects: str  # number of the invoice
    corrects_issued: date | None = None
    reason: str = ""
