"""Lines, totals and what is left to pay: the arithmetic of quotes, invoices and credit notes.

The totals keep the rules of EN 16931-1:2017, 6.4: every line is whole cents before it is
added up (BR-CO-10, BR-DEC-23), the total without tax is the sum of the lines (BR-CO-13), tax
is the sum over the categories (BR-CO-14), the total is both (BR-CO-15), and what is left to
pay is the total less what was paid before (BR-CO-16).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from tubside.errors import MoneyError
from tubside.money.amounts import LARGEST, rounded, times
from tubside.money.tax import Category, Taxable, Taxed, TaxRules, taxed

Kind = Literal["call-out", "diagnosis", "labour", "part", "other"]
Unit = Literal["hour", "piece"]
MOST_LINES = 60


@dataclass(frozen=True, slots=True)
class Line:
    """One thing charged for; ``price`` is cents a unit without tax.

    ``warranty_days`` is how long the shop answers for it, None where it promises nothing.
    """

    kind: Kind
    words: str
    quantity: Decimal
    unit: Unit
    price: int
    category: Category = "S"
    warranty_days: int | None = None

    @property
    def net(self) -> int:
        """Quantity times price, in whole cents, a half away from zero."""
        return rounded(times(self.price, self.quantity))


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of a bill [cents]; ``due`` is what is left to pay."""

    taxed: Taxed
    prepaid: int
    due: int


def check_lines(lines: Sequence[Line]) -> None:
    """Refuse lines that no bill can hold.

    Raises
    ------
    MoneyError
        Naming what is wrong.
    """
    if not 1 <= len(lines) <= MOST_LINES:
        msg = f"a bill has 1 to {MOST_LINES} lines; this one has {len(lines)}"
        raise MoneyError(msg)
    for line in lines:
        if not line.words.strip() or len(line.words) > 200 or not line.words.isprintable():
            msg = "every line needs words, of at most 200 characters and on one line"
            raise MoneyError(msg)
        if line.price < 0 or line.quantity == 0 or abs(line.net) > LARGEST:
            msg = f"the line '{line.words}' has a price or a quantity that cannot be"
            raise MoneyError(msg)


def totals(lines: Sequence[Line], rules: TaxRules, percent: Decimal, prepaid: int = 0) -> Totals:
    """Sums of a bill at a rate [%].

    Examples
    --------
    >>> from tubside.money.countries import rules_of
    >>> lines = [Line("labour", "Labour", Decimal("1.25"), "hour", 90_00)]
    >>> found = totals(lines, rules_of("NZ"), Decimal(15), prepaid=50_00)
    >>> found.taxed.net, found.taxed.tax, found.taxed.total, found.due
    (11250, 1687, 12937, 7937)
    """
    check_lines(lines)
    parts = [Taxable(line.net, line.category) for line in lines]
    found = taxed(parts, rules, percent)
    return Totals(found, prepaid, found.total - prepaid)


def credited(lines: Sequence[Line], chosen: Sequence[int]) -> tuple[Line, ...]:
    """The lines of a credit note that takes some lines of a bill back, by their places.

    Raises
    ------
    MoneyError
        When none is chosen, or one that is not there.
    """
    places = sorted(set(chosen))
    if not places or places[0] < 0 or places[-1] >= len(lines):
        msg = "choose which lines of the invoice are credited"
        raise MoneyError(msg)
    return tuple(replace(lines[at], quantity=-lines[at].quantity) for at in places)


@dataclass(frozen=True, slots=True)
class Owed:
    """What is open on an invoice: total, credited, paid and left [cents], and since when."""

    total: int
    credited: int
    paid: int
    due_on: date

    @property
    def left(self) -> int:
        """What is left to pay; below nought where the shop owes it back."""
        return self.total - self.credited - self.paid

    def days_over(self, day: date) -> int:
        """Whole days past the day it was due, nought where it is not or nothing is left."""
        return max((day - self.due_on).days, 0) if self.left > 0 else 0


AGES = ((0, "not yet due"), (30, "to 30 days"), (60, "to 60 days"), (90, "to 90 days"))
OLDEST = "more than 90 days"


def age_words(days_over: int) -> str:
    """The column of the overdue list that a bill stands in (30, 60, 90: common practice).

    >>> [age_words(days) for days in (0, 1, 30, 31, 91)]
    ['not yet due', 'to 30 days', 'to 30 days', 'to 60 days', 'more than 90 days']
    """
    return next((words for most, words in AGES if days_over <= most), OLDEST)


def due_day(issued: date, terms_days: int) -> date:
    """The day by which an invoice is to be paid.

    >>> due_day(date(2026, 2, 20), 14)
    datetime.date(2026, 3, 6)
    """
    return issued + timedelta(days=terms_days)


@dataclass(frozen=True, slots=True)
class Move:
    """A line of a statement: an invoice adds, a credit note and a payment take away [cents]."""

    day: date
    words: str
    cents: int


def statement(moves: Sequence[Move], since: date) -> tuple[int, list[tuple[Move, int]]]:
    """What was open before a day, and each move from it on with what is open after it.

    Examples
    --------
    >>> moves = [Move(date(2026, 3, 1), "Invoice 1", 100), Move(date(2026, 3, 9), "Cash", -40)]
    >>> statement(moves, date(2026, 3, 2))
    (100, [(Move(day=datetime.date(2026, 3, 9), words='Cash', cents=-40), 60)])
    """
    ordered = sorted(moves, key=lambda move: move.day)
    balance = sum(move.cents for move in ordered if move.day < since)
    before, told = balance, []
    for move in ordered:
        if move.day >= since:
            balance += move.cents
            told.append((move, balance))
    return before, told
