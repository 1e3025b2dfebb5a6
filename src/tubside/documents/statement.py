"""A statement of account: what was charged, what was paid, what is open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tubside.documents.amounts import Currency
from tubside.documents.invoice import Payment
from tubside.documents.parties import Party


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementRow:
    """One entry; amounts in cents."""

    dated: date
    text: str
    number: str = ""
    charged: int = 0
    paid: int = 0  # also what a credit note gives back
    due: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """All entries of one payer between two days; amounts in cents."""

    dated: date
    currency: Currency
    shop: Party
    customer: Party
    first: date
    last: date
    opening: int = 0
    rows: tuple[StatementRow, ...] = ()
    overdue: int = 0
    payment: Payment | None = None
    notes: tuple[str, ...] = ()

    @property
    def closing(self) -> int:
        """What is open at the end [cents]."""
        return self.opening + sum(row.charged - row.paid for row in self.rows)
