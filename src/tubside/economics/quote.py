r"""A quote: a fixed price, or a range from how the plan may go, and what happens otherwise.

The plan tells how long the work takes on average and in eight jobs of ten. The price at which
eight of ten jobs stay is read between the average and the upper end of that range, as if the
upper half were that of a normal distribution,

.. math:: m_{80} = m + (m_{90} - m)\,\frac{z_{0.8}}{z_{0.9}}, \qquad
   \frac{z_{0.8}}{z_{0.9}} = \frac{0.8416}{1.2816}

(NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, from memory). Times of jobs lean to
the right, so it is a reckoning and no promise; a fixed price is the shop's to set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from tubside.economics.billing import Line, totals
from tubside.economics.price_book import PriceBook, billed_minutes, hours
from tubside.errors import MoneyError
from tubside.money.amounts import shown
from tubside.money.tax import TaxRules

Z80, Z90 = 0.8416212335729143, 1.2815515655446004
Manner = Literal["fixed", "range"]


@dataclass(frozen=True, slots=True)
class Work:
    """Minutes of work to the end: on average, and the range of eight jobs of ten."""

    mean: float
    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse a range that is none."""
        if not 0 <= self.low <= self.high or not self.low <= self.mean:
            msg = "minutes of work are a range from nought up, with the average in it"
            raise MoneyError(msg)

    @property
    def most_times(self) -> float:
        """Minutes that eight jobs of ten stay within.

        >>> round(Work(60.0, 30.0, 120.0).most_times, 1)
        99.4
        """
        return self.mean + max(self.high - self.mean, 0.0) * Z80 / Z90


@dataclass(frozen=True, slots=True)
class Prices:
    """What the job may come to, with tax [cents]: low end, average, eight of ten, high end."""

    low: int
    expected: int
    most_times: int
    high: int


def first_lines(book: PriceBook, *, visited: bool) -> list[Line]:
    """Call-out and diagnosis, where they are charged and were not yet."""
    lines = []
    if book.call_out and not visited:
        lines.append(Line("call-out", "Call-out", Decimal(1), "piece", book.call_out))
    if book.diagnosis:
        lines.append(Line("diagnosis", "Finding the fault", Decimal(1), "piece", book.diagnosis))
    return lines


def labour_line(
    book: PriceBook, band: str, minutes: float, warranty_days: int | None = None
) -> Line | None:
    """A line of labour; None where there is none to charge."""
    billed = billed_minutes(book, minutes)
    if not billed:
        return None
    rate = book.band(band)
    return Line("labour", rate.title, hours(billed), "hour", rate.hour_cents, "S", warranty_days)


def price_range(
    book: PriceBook,
    band: str,
    work: Work,
    others: Sequence[Line],
    tax: tuple[TaxRules, Decimal],
) -> Prices:
    """What the job may come to with these other lines, by the minutes it may take.

    Examples
    --------
    >>> from tubside.money.countries import rules_of
    >>> book, work = PriceBook(), Work(60.0, 30.0, 120.0)
    >>> others = first_lines(book, visited=False)
    >>> price_range(book, "day", work, others, (rules_of("AU"), Decimal(10)))
    Prices(low=16500, expected=21450, most_times=28875, high=31350)
    """
    found = []
    for minutes in (work.low, work.mean, work.most_times, work.high):
        labour = labour_line(book, band, minutes)
        lines = [*others, *([] if labour is None else [labour])]
        found.append(totals(lines, *tax).taxed.total if lines else 0)
    low, expected, most_times, high = found
    return Prices(low, expected, most_times, max(high, most_times))


def otherwise(manner: Manner, ending: int) -> tuple[str, ...]:
    """What happens if it turns out otherwise, in sentences without the currency.

    ``ending`` is what is owed when the job is ended there, with tax [cents].
    """
    ended = (
        f"If you then end the job, you pay {shown(ending)} for coming and for finding the "
        "fault, and for parts that were fitted and stay in."
    )
    if manner == "fixed":
        return (
            "The price holds for the work listed, however long it takes.",
            "If another fault is found, we stop, tell you, and make a new quote first.",
            ended,
        )
    return (
        "You pay for the time and the parts that were needed, within the range.",
        "Before it would cost more than the upper end, we stop and ask you.",
        ended,
    )
