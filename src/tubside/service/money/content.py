"""What a quote, a stop-work note and an invoice hold, as it is kept and hashed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from hashlib import sha256
from typing import Literal

import msgspec

from tubside.economics.billing import Line, Totals
from tubside.economics.quote import Manner, Prices
from tubside.money.tax import Share


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """Who writes, in which money and under which tax rules."""

    shop: str
    address: str
    tax_number: str
    country: str
    tax: str
    currency: str
    percent: str
    rounding: str
    level: str


class QuoteContent(msgspec.Struct, frozen=True, kw_only=True):
    """A quote as it was shown; it names nobody, the job does."""

    head: Head
    machine: str
    manner: Manner
    lines: list[Line]
    prices: Prices
    tax: int
    deposit: int
    otherwise: list[str]
    dated: date
    valid_until: date


class StopContent(msgspec.Struct, frozen=True, kw_only=True):
    """A note that work stopped: why, how the machine was left, what is owed [cents]."""

    head: Head
    machine: str
    reason: str
    state: str
    usable: bool
    agreed: int
    owed: int
    dated: date


class DepositTaken(msgspec.Struct, frozen=True):
    """A deposit that had an invoice of its own, as a later invoice takes it off [cents]."""

    bill: str
    number: str
    issued: date
    total: int
    tax: int


class BillContent(msgspec.Struct, frozen=True, kw_only=True):
    """An invoice or a credit note, whole: nothing of it is looked up later."""

    kind: Literal["invoice", "credit"]
    number: str
    head: Head
    buyer: str
    buyer_address: str
    buyer_reference: str
    machine: str
    lines: list[Line]
    shares: list[Share]
    net: int
    tax: int
    total: int
    prepaid: int
    due: int
    issued: date
    due_on: date
    how_to_pay: str
    iban: str
    corrects: str = ""
    reason: str = ""
    buyer_country: str = ""
    """Two letters of ISO 3166-1; "" for the shop's own."""
    done_on: date | None = None
    """The day of the work, where it was told."""
    done_for: str = ""
    """Whose machine it is, where another pays."""
    prepaid_tax: int = 0
    """Tax within what was paid before, where that fell due with the deposit."""
    for_deposit: bool = False
    """Whether it charges a deposit on work to come."""
    received_on: date | None = None
    """The day on which a deposit came in before its invoice was written."""
    deposits: list[DepositTaken] = []
    """Deposits with invoices of their own; all of them are in what was paid before."""

    @property
    def invoiced_before(self) -> int:
        """What invoices for deposits charged already [cents]."""
        return sum(one.total for one in self.deposits)


def text_of(content: msgspec.Struct) -> str:
    """Canonical JSON: equal contents give equal texts."""
    return msgspec.json.encode(content, order="sorted").decode()


def hash_of(text: str, before: str = "") -> str:
    """Hash of a content and of the one before it (SHA-256 in hex)."""
    return sha256(f"{before}\n{text}".encode()).hexdigest()


def sums(found: Totals) -> dict[str, int]:
    """The sums of a bill as its content names them."""
    told = found.taxed
    return {
        "net": told.net,
        "tax": told.tax,
        "total": told.total,
        "prepaid": found.prepaid,
        "due": found.due,
    }


def longest_warranty(lines: Sequence[Line], kind: str) -> int | None:
    """Days that the shop answers for lines of a kind, the longest; None for nothing."""
    days = [x.warranty_days for x in lines if x.kind == kind and x.warranty_days is not None]
    return max(days, default=None)
