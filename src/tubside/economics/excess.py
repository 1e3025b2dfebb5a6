"""The part of a bill that the customer bears while somebody else pays the rest."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from tubside.economics.billing import Line, totals
from tubside.errors import MoneyError
from tubside.money.tax import Category, TaxRules

NEAR = 2
"""Cents on either side within which a net amount with the wished total is looked for."""


def excess_line(
    lines: Sequence[Line], rules: TaxRules, percent: Decimal, excess: int, words: str
) -> Line:
    """One line whose total with tax is the excess [cents], taxed as the lines are.

    Where no whole net amount gives just that total, the next lower one stands: at 15 %, two
    totals of fifteen have none.

    Raises
    ------
    MoneyError
        When the excess is not between nought and the whole, or the lines are taxed unlike.

    Examples
    --------
    >>> from tubside.money.countries import rules_of
    >>> line = Line("labour", "Labour", Decimal(2), "hour", 90_00)
    >>> found = excess_line([line], rules_of("NZ"), Decimal(15), 100_00, "Excess")
    >>> found.price, totals([found], rules_of("NZ"), Decimal(15)).taxed.total
    (8696, 10000)
    """
    categories = {line.category for line in lines}
    if len(categories) != 1:
        msg = "lines that are taxed unlike cannot be split by an excess; write two invoices"
        raise MoneyError(msg)
    whole = totals(lines, rules, percent).taxed.total
    if not 0 < excess < whole:
        msg = "an excess is more than nought and less than the whole; else one of them pays all"
        raise MoneyError(msg)
    return line_of_total(categories.pop(), rules, percent, excess, words)


def line_of_total(
    category: Category, rules: TaxRules, percent: Decimal, total: int, words: str
) -> Line:
    """One line of a category whose total with tax is that sum [cents], else the next lower.

    Raises
    ------
    MoneyError
        When the sum is too small to be taxed.

    Examples
    --------
    >>> from tubside.money.countries import rules_of
    >>> line_of_total("S", rules_of("DE"), Decimal(19), 119_00, "Deposit").price
    10000
    """
    rate = percent if category == "S" else Decimal(0)
    about = int(total * 100 / (100 + rate))
    fitting = []
    for net in range(max(about - NEAR, 1), about + NEAR + 1):
        line = Line("other", words, Decimal(1), "piece", net, category)
        if totals([line], rules, percent).taxed.total <= total:
            fitting.append(line)
    if not fitting:
        msg = "this sum is too small for a line of a bill; write at least some cents"
        raise MoneyError(msg)
    return fitting[-1]


def taken_off(line: Line, words: str) -> Line:
    """The same amount as a line below nought on the other bill."""
    return Line(line.kind, words, -line.quantity, line.unit, line.price, line.category)
