"""Whether a bill adds up, before it leaves the house."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from tubside.documents.invoice import Bill
from tubside.errors import DocumentError


def check_bill(bill: Bill) -> None:
    """Refuse a bill whose lines and tax do not add up to one another.

    The taxable amount of each category and rate is the sum of its lines (EN 16931-1:2017,
    BR-S-08 and its sisters), here to the cent; its tax is amount times rate within one whole
    unit (BR-CO-17), which leaves room for tax rounded line by line.

    Raises
    ------
    DocumentError
        Naming the category and what it should be.
    """
    if not bill.lines:
        msg = f"{bill.number} has no lines; a bill charges something"
        raise DocumentError(msg)
    sums: dict[tuple[str, Decimal], int] = defaultdict(int)
    for line in bill.lines:
        sums[line.tax_category, line.tax_rate] += line.net
    parts = {(part.category, part.rate): part for part in bill.tax}
    if parts.keys() != sums.keys() or len(parts) != len(bill.tax):
        msg = f"{bill.number}: its tax table and its lines name different rates; reckon it again"
        raise DocumentError(msg)
    whole = 10**bill.currency.exponent
    for key, part in parts.items():
        if part.taxable != sums[key]:
            msg = f"{bill.number}: lines at {part.rate} % add up to {sums[key]}, not {part.taxable}"
            raise DocumentError(msg)
        if abs(part.taxable * part.rate / 100 - part.tax) >= whole:
            msg = f"{bill.number}: {part.rate} % of {part.taxable} is not {part.tax}"
            raise DocumentError(msg)
