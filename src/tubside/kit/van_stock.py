r"""What a van carries always, so that a stated share of jobs lacks no part.

A job lacks a part with at most the chance :math:`\sum_i w_i P(D_i \ge s_i)`, with
:math:`w_i` the chance that a job needs part i and :math:`D_i` its demand while an order is
on its way (the chance of a union is at most the sum of chances). So the fill rate told here
is one that is reached at least. Units are added where each lowers the sum most for its
price: marginal analysis, C. C. Sherbrooke, Optimal Inventory Modeling of Systems, 2nd
edition 2004, chapter 2 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tubside.errors import KitError
from tubside.kit.demand import Rate, short_with

MOST_UNITS = 50
"""Units of one part beyond which none is added."""


@dataclass(frozen=True, slots=True)
class Carried:
    """A part as the van may carry it.

    Parameters
    ----------
    rate
        Its demand on this van.
    lead_days
        How long an order takes [days].
    wanted
        Chance that a job needs it, 0 to 1.
    holding
        What one unit costs to hold [any money], above nought.
    """

    rate: Rate
    lead_days: float
    wanted: float
    holding: float


@dataclass(frozen=True, slots=True)
class VanStock:
    """How many of each part to hold, on the van and on order together.

    Parameters
    ----------
    units
        One number a part: order again as soon as fewer than these are held or on order.
    fill_rate
        Share of jobs that lack no part, at least, 0 to 1.
    """

    units: tuple[int, ...]
    fill_rate: float


def van_stock(parts: Sequence[Carried], target: float) -> VanStock:
    """Stock that reaches a job fill rate at the lowest price, nearly.

    Raises
    ------
    KitError
        When the target is not a share below one, or a part's numbers cannot be.

    Examples
    --------
    >>> belt = Carried(Rate(8.0, 365.0), 7.0, 0.10, 15.0)
    >>> pump = Carried(Rate(4.0, 365.0), 7.0, 0.05, 60.0)
    >>> van_stock([belt, pump], 0.95).units
    (2, 1)
    """
    if not 0.0 <= target < 1.0:
        msg = "a share of jobs is given from 0 to below 1"
        raise KitError(msg)
    if any(not (p.holding > 0.0 and 0.0 <= p.wanted <= 1.0 and p.lead_days >= 0.0) for p in parts):
        msg = "a part costs something to hold, is needed with a chance, and comes after a while"
        raise KitError(msg)
    units = [0] * len(parts)
    lacks = [part.wanted for part in parts]
    steps = [_step(part, 0) for part in parts]
    while sum(lacks) > 1.0 - target:
        best = max(range(len(parts)), key=lambda one: steps[one][0])
        if steps[best][0] <= 0.0:
            break
        part, units[best] = parts[best], steps[best][1]
        lacks[best] = part.wanted * short_with(part.rate, part.lead_days, units[best])
        steps[best] = _step(part, units[best])
    return VanStock(tuple(units), max(0.0, 1.0 - sum(lacks)))


def _step(part: Carried, units: int) -> tuple[float, int]:
    """How much some more units lower the sum for their price, and how many are then held.

    One more may do less than two more a unit (a demand of several in one lead time), so
    the best run of units is looked for.
    """
    now = short_with(part.rate, part.lead_days, units)
    best = (0.0, units)
    for more in range(1, 4):
        if units + more <= MOST_UNITS:
            less = now - short_with(part.rate, part.lead_days, units + more)
            best = max(best, (part.wanted * less / (more * part.holding), units + more))
    return best


def reorder_point(rate: Rate, lead_days: float, fill: float) -> int:
    """The stock of one part alone at which to order: the least r with P(D_L <= r) >= fill.

    Examples
    --------
    >>> reorder_point(Rate(4e9, 7e9), 7.0, 0.95)
    8
    """
    if not 0.0 <= fill < 1.0:
        msg = "a share is given from 0 to below 1"
        raise KitError(msg)
    for level in range(MOST_UNITS + 1):
        if 1.0 - short_with(rate, lead_days, level + 1) >= fill:
            return level
    msg = f"even {MOST_UNITS} units would not do; see whether the demand is right"
    raise KitError(msg)
