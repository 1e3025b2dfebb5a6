"""Published values of interest, least-cost lives and the age to replace."""

from __future__ import annotations

from collections.abc import Callable

import pytest

import printed
from tubside.economics.discounting import (
    Owning,
    capital_recovery,
    equivalent_annual_costs,
    present_of_single,
    present_of_uniform,
)
from tubside.economics.lifetime import Life, best_age_to_replace

FALLING = Owning(
    50_000,
    [3500 + 2000 * year for year in range(5)],
    [50_000 * 0.8**year for year in range(1, 6)],
)
WORN = Owning(7500, [500 + 1300 * year for year in range(5)], [0.0] * 5)
"""Upkeep 0 + 900 a year, running 500 + 400 a year, nothing to be had for it at the end."""


def newnan(item: str) -> float:
    """Return factors and yearly costs of the book's example and problem."""
    if item.startswith("13-"):
        owning, rate = (FALLING, 0.09) if item.startswith("13-10") else (WORN, 0.08)
        return float(equivalent_annual_costs(owning, rate)[int(item[-1]) - 1])
    factor = present_of_uniform if item.startswith("P/A") else capital_recovery
    return float(factor(0.10, 5))


def nist_135(item: str) -> float:
    """Return the uniform and the single present value."""
    return float((present_of_uniform if item.startswith("UPV") else present_of_single)(0.03, 10))


def replaced(life: Life, prices: tuple[float, float], time: float, item: str) -> float:
    """Return the best age or its cost; ``time`` is the unit of the source in ours."""
    age, cost = best_age_to_replace(life, *prices)
    return age / time if item.endswith("age") else cost * time


SOURCES: dict[str, Callable[[str], float]] = {
    "newnan": newnan,
    "nist_135": nist_135,
    "reliawiki": lambda item: replaced(Life(2.5, 10.0), (1.0, 5.0), 0.01, item),
    "reliability_basics": lambda item: replaced(Life(3.0, 15.0), (2.0, 8.0), 0.1, item),
    "nist_ehandbook": lambda _: 100 * Life(2.0, 10.0).gone_by(0.10),
    "mil_hdbk_338b": lambda _: 1.0 - float(Life(2.3, 10.0).survival(10.0)),
}
"""Lives in hours and days are scaled to the range of household machines, and back."""

ROWS = [row for table in SOURCES for row in printed.rows(table)]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_money_over_time(row: printed.Row) -> None:
    """Tests printed factors, yearly costs and best ages."""
    printed.check(row, SOURCES[row.table](row.item))
