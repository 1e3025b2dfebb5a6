"""Tax on a sale: which rate on which day, and what is rounded when.

A country's rules say at which rates a repair was taxed from when on, how a fraction of a
cent is rounded, and whether each line or only the total is rounded. Both ways differ by some
cents, and both are lawful in most places; a shop keeps to one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, localcontext
from typing import Literal

from tubside.errors import MoneyError
from tubside.money.amounts import EXACT, Rounding, rounded

Category = Literal["S", "Z", "E", "O"]
"""What is done about tax: standard rate, zero rate, exempt, outside its scope (the letters
are those of UNCL 5305 as EN 16931-1 uses them)."""
Level = Literal["total", "line"]
UNTAXED = Decimal(0)


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate [%] that holds from a day on, until the next one begins."""

    since: date
    percent: Decimal
    source: str
    known: str


DepositWay = Literal["with-deposit", "whole-with-deposit", "with-invoice"]
"""When tax on a deposit falls due: its own part when it comes in, that of the whole price
when it comes in, or none before the invoice."""


@dataclass(frozen=True, slots=True)
class DepositRule:
    """When a country wants tax on what is paid before the work is done."""

    way: DepositWay
    source: str
    known: str


@dataclass(frozen=True, slots=True)
class TaxRules:
    """How a country taxes a repair.

    Attributes
    ----------
    cash_step
        The smallest coin [cents] that a sum paid in cash is rounded to.
    known
        How well the rounding rule is known: read in the source, or from memory.
    """

    country: str
    tax: str
    number_name: str
    currency: str
    rounding: Rounding
    level: Level
    cash_step: int
    rates: tuple[Rate, ...]
    source: str
    known: str
    deposit: DepositRule | None = None


@dataclass(frozen=True, slots=True)
class Taxable:
    """A line's net amount [cents] and what is done about tax on it."""

    cents: int
    category: Category = "S"


@dataclass(frozen=True, slots=True)
class Share:
    """Tax of all lines of one category: base and tax [cents], rate [%]."""

    category: Category
    percent: Decimal
    base: int
    tax: int


@dataclass(frozen=True, slots=True)
class Taxed:
    """Net, tax and total [cents], with the shares by category."""

    net: int
    tax: int
    total: int
    shares: tuple[Share, ...]


def rate_on(rules: TaxRules, day: date) -> Decimal:
    """The standard rate on a day [%].

    Raises
    ------
    MoneyError
        When the day lies before the first rate that is known.
    """
    held = [rate for rate in rules.rates if rate.since <= day]
    if not held:
        msg = f"no rate of {rules.tax} is known for {day}; the first one begins later"
        raise MoneyError(msg)
    return max(held, key=lambda rate: rate.since).percent


def taxed(lines: Sequence[Taxable], rules: TaxRules, percent: Decimal) -> Taxed:
    r"""Net amounts with their tax added.

    .. math:: t = R\Bigl(\sum_k n_k \frac{p}{100}\Bigr) \quad\text{or}\quad
       t = \sum_k R\Bigl(n_k \frac{p}{100}\Bigr)

    with :math:`R` the country's rounding, once for the total of a category or once a line.
    Base, tax and total of the shares add up exactly (EN 16931-1:2017, 6.4.4, rules BR-CO-14
    and BR-CO-15).

    Examples
    --------
    >>> rules = TaxRules("XX", "VAT", "", "EUR", "half-up", "line", 1, (), "", "")
    >>> taxed([Taxable(3333), Taxable(3333)], rules, Decimal(19))
    Taxed(net=6666, tax=1266, total=7932, shares=(Share(category='S', percent=Decimal('19'), base=6666, tax=1266),))
    """  # noqa: E501  # what Python prints
    shares = []
    for category in dict.fromkeys(line.category for line in lines):
        nets = [line.cents for line in lines if line.category == category]
        rate = percent if category == "S" else UNTAXED
        parts = nets if rules.level == "line" else [sum(nets)]
        tax = sum(_tax_on(net, rate, rules.rounding) for net in parts)
        shares.append(Share(category, rate, sum(nets), tax))
    net, tax = sum(share.base for share in shares), sum(share.tax for share in shares)
    return Taxed(net, tax, net + tax, tuple(shares))


def _tax_on(net: int, percent: Decimal, rule: Rounding) -> int:
    with localcontext(EXACT):
        return rounded(net * percent / 100, rule)


def tax_within(total: int, percent: Decimal, rule: Rounding = "half-up") -> int:
    r"""Tax inside an amount that includes it, :math:`R\bigl(t\,p / (100 + p)\bigr)` [cents].

    At 15 % that is 3/23 of it.

    Examples
    --------
    >>> tax_within(1725_00, Decimal(15))
    22500
    """
    with localcontext(EXACT):
        return rounded(total * percent / (100 + percent), rule)


def tax_in_deposit(rules: TaxRules, percent: Decimal, cents: int) -> int:
    """Tax inside a deposit [cents], where that part falls due when it comes in, else nought.

    Where the tax of the whole price falls due then, none of it belongs to the deposit alone.

    Examples
    --------
    >>> from tubside.money.countries import rules_of
    >>> [tax_in_deposit(rules_of(c), Decimal(20), 120_00) for c in ("GB", "NZ", "US")]
    [2000, 0, 0]
    """
    if rules.deposit is None or rules.deposit.way != "with-deposit":
        return 0
    return tax_within(cents, percent, rules.rounding)
