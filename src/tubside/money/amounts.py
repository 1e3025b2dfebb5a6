"""Amounts in whole cents: rounding, reading and telling them.

An amount is an ``int`` of the smallest unit of its currency. What is worked out in between
is a ``Decimal`` of that same unit and is rounded once, by a rule that has a name.
"""

from __future__ import annotations

import re
from decimal import (
    ROUND_DOWN,
    ROUND_HALF_DOWN,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    Context,
    Decimal,
    localcontext,
)
from typing import Literal

from tubside.errors import MoneyError

Rounding = Literal["half-up", "half-down", "half-even", "down"]
"""What becomes of a fraction of a cent; a half is up away from zero, down towards it, so
that a credit note is always minus what it credits."""

_RULES = {
    "half-up": ROUND_HALF_UP,
    "half-down": ROUND_HALF_DOWN,
    "half-even": ROUND_HALF_EVEN,
    "down": ROUND_DOWN,
}
EXACT = Context(prec=60)
"""Digits enough for any product of a price, a quantity and a rate: nothing is rounded
before its rule says so."""
LARGEST = 1_000_000_000_00
_TYPED = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,2})?")
_QUANTITY = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,4})?")


def rounded(amount: Decimal, rule: Rounding = "half-up") -> int:
    """Whole cents of an amount in cents.

    Examples
    --------
    >>> [rounded(Decimal("12.5"), rule) for rule in ("half-up", "half-down", "half-even", "down")]
    [13, 12, 12, 12]
    >>> rounded(Decimal("-12.5"))
    -13
    """
    with localcontext(EXACT):
        return int(amount.quantize(Decimal(1), rounding=_RULES[rule]))


def times(cents: int, factor: Decimal) -> Decimal:
    """The exact product of cents and a quantity or a share."""
    with localcontext(EXACT):
        return cents * factor


def to_step(cents: int, step: int) -> int:
    """An amount as it is paid in coins: the nearest multiple of the smallest coin.

    A half goes towards zero, in the customer's favour: five cents in New Zealand may be
    rounded either way, and most shops round down (Reserve Bank of New Zealand, guidance on
    the ten-cent coin; from memory).

    Examples
    --------
    >>> to_step(10_05, 10), to_step(10_06, 10), to_step(10_03, 5), to_step(10_03, 1)
    (1000, 1010, 1005, 1003)
    """
    return step * rounded(Decimal(cents) / step, "half-down")


def typed_cents(text: str) -> int:
    """Cents of an amount as people type it, never below nought.

    Raises
    ------
    MoneyError
        When it is no amount with at most two decimals.

    Examples
    --------
    >>> typed_cents("85"), typed_cents("85,5"), typed_cents(" 85.50 ")
    (8500, 8550, 8550)
    """
    plain = text.strip()
    if not _TYPED.fullmatch(plain):
        msg = f"'{text[:40]}' is no amount of money; write it like 85 or 85.50"
        raise MoneyError(msg)
    return rounded(times(100, Decimal(plain.replace(",", "."))))


def typed_number(text: str, what: str) -> Decimal:
    """A quantity or a percentage as people type it, never below nought.

    Raises
    ------
    MoneyError
        When it is no number with at most four decimals.
    """
    plain = text.strip()
    if not _QUANTITY.fullmatch(plain):
        msg = f"'{text[:40]}' is no {what}; write it like 2 or 1.25"
        raise MoneyError(msg)
    return Decimal(plain.replace(",", "."))


def shown(cents: int) -> str:
    """An amount with two decimals, without its currency.

    >>> shown(123_450), shown(-5)
    ('1234.50', '-0.05')
    """
    whole, part = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{whole}.{part:02}"
