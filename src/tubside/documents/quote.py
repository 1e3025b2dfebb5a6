"""A quote: a fixed price or a range, and what happens when it turns out otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tubside.documents.amounts import Currency
from tubside.documents.parties import Acceptance, DocumentMachine, Party


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLine:
    """One thing offered; amounts in cents."""

    text: str
    quantity: Decimal = Decimal(1)
    unit: str = ""  # in words, such as "h"
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """What the work will cost; amounts in cents.

    A fixed price has ``low == expected == high``; a range says what is expected and what
    is not exceeded in eight of ten such jobs.
    """

    number: str
    dated: date
    currency: Currency
    shop: Party
    customer: Party
    expected: int
    low: int
    high: int
    tax: int = 0  # within ``expected``
    tax_text: str = ""  # such as "prices include 20 % VAT"
    lines: tuple[QuoteLine, ...] = ()
    valid_until: date | None = None
    machine: DocumentMachine | None = None
    reported: str = ""
    found: str = ""
    work: str = ""
    otherwise: str = ""  # what happens if it turns out otherwise
    deposit: int = 0
    warranty: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    acceptance: Acceptance | None = None

    @property
    def fixed(self) -> bool:
        """Whether the price is one price."""
        return self.low == self.expected == self.high
