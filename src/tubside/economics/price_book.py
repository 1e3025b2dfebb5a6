"""The price book: what the shop charges for coming, for looking, for work and for parts.

Prices are whole cents without tax. They are what the customer pays; what a job costs both
sides, by which steps are chosen, is another thing and has no margin in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext

from tubside.errors import MoneyError
from tubside.money.amounts import EXACT, rounded

HOUR = 60
"""Minutes."""
LINE_UNITS = {"hour": "h", "piece": "pcs"}


@dataclass(frozen=True, slots=True)
class Band:
    """A rate of labour by its name: by day, in the evening, at the weekend."""

    id: str
    title: str
    hour_cents: int


@dataclass(frozen=True, slots=True)
class PriceBook:
    """What is charged, in whole cents without tax.

    Attributes
    ----------
    step_minutes, least_minutes
        Labour is charged by steps begun, and never less than this.
    parts_margin
        Added to the buying price of a part [%].
    deposit
        Share of the total asked for before parts are ordered [%].
    quote_days, terms_days
        How long a quote stands, and in how many days an invoice is due.
    """

    call_out: int = 65_00
    diagnosis: int = 40_00
    bands: tuple[Band, ...] = (
        Band("day", "Labour by day", 90_00),
        Band("evening", "Labour in the evening", 120_00),
        Band("weekend", "Labour at the weekend", 135_00),
    )
    step_minutes: int = 15
    least_minutes: int = 30
    parts_margin: Decimal = Decimal(30)
    deposit: Decimal = Decimal(0)
    quote_days: int = 14
    terms_days: int = 14

    def __post_init__(self) -> None:
        """Refuse prices that cannot be."""
        if not self.bands or len({band.id for band in self.bands}) < len(self.bands):
            msg = "a price book needs at least one rate of labour, each under a name of its own"
            raise MoneyError(msg)
        if min(self.call_out, self.diagnosis, *(b.hour_cents for b in self.bands)) < 0:
            msg = "a price is below nought; write it as nought or more"
            raise MoneyError(msg)
        if not 1 <= self.step_minutes <= HOUR or not 0 <= self.least_minutes <= 8 * HOUR:
            msg = "labour is charged by steps of 1 to 60 minutes, and at least 0 to 480 minutes"
            raise MoneyError(msg)
        if not 0 <= self.deposit <= 100 or not 0 <= self.parts_margin <= 500:
            msg = "a deposit is 0 to 100 per cent, a margin on parts 0 to 500"
            raise MoneyError(msg)
        if not 1 <= self.quote_days <= 365 or not 0 <= self.terms_days <= 365:
            msg = "a quote stands 1 to 365 days, an invoice is due in 0 to 365"
            raise MoneyError(msg)

    def band(self, name: str) -> Band:
        """A rate of labour; MoneyError for an unknown name."""
        for band in self.bands:
            if band.id == name:
                return band
        msg = f"the price book has no labour '{name[:40]}'"
        raise MoneyError(msg)


def billed_minutes(book: PriceBook, minutes: float) -> int:
    """Minutes as they are charged: by steps begun, none where nothing was done.

    Examples
    --------
    >>> [billed_minutes(PriceBook(), minutes) for minutes in (0, 5, 30, 31, 75)]
    [0, 30, 30, 45, 75]
    """
    if minutes <= 0:
        return 0
    steps = -int(-minutes // book.step_minutes)
    return max(steps * book.step_minutes, book.least_minutes)


def hours(minutes: int) -> Decimal:
    """Whole minutes as hours, to four decimals, as they stand on a line.

    >>> hours(45), hours(50)
    (Decimal('0.7500'), Decimal('0.8333'))
    """
    with localcontext(EXACT):
        return (Decimal(minutes) / HOUR).quantize(Decimal("0.0001"))


def selling_price(book: PriceBook, buying_cents: int) -> int:
    """What the customer pays for a part that the shop bought for so many cents.

    Examples
    --------
    >>> selling_price(PriceBook(parts_margin=Decimal(30)), 24_50)
    3185
    """
    if buying_cents < 0:
        msg = "the buying price of a part is below nought"
        raise MoneyError(msg)
    with localcontext(EXACT):
        return rounded(buying_cents * (100 + book.parts_margin) / 100)


def deposit_of(book: PriceBook, total: int) -> int:
    """The deposit on a total [cents]."""
    with localcontext(EXACT):
        return rounded(total * book.deposit / 100)
