"""Published values of interest, least-cost lives and the age to replace."""

from __future__ import annotations

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


def reckoned(item: str) -> float:
    """Return what this project gives for an item of the table."""
    if item.startswith(("13-10", "13-2")):
        owning, rate = (FALLING, 0.09) if item.startswith("13-10") else (WORN, 0.08)
        return float(equivalent_annual_costs(owning, rate)[int(item[-1]) - 1])
    if item.startswith("age replacement 2.5"):
        age, cost = best_age_to_replace(Life(2.5, 10.0), 1.0, 5.0)
        return 100 * age if item.endswith("age") else cost / 100
    if item.startswith("age replacement 3"):
        age, cost = best_age_to_replace(Life(3.0, 15.0), 2.0, 8.0)
        return 10 * age if item.endswith("age") else cost / 10
    return {
        "P/A 10 % 5 years": float(present_of_uniform(0.10, 5)),
        "A/P 10 % 5 years": float(capital_recovery(0.10, 5)),
        "UPV 3 % 10 years": float(present_of_uniform(0.03, 10)),
        "SPV 3 % 10 years": float(present_of_single(0.03, 10)),
        "B10 of shape 2 scale 1000": 100 * Life(2.0, 10.0).gone_by(0.10),
        "gone at the scale": 1.0 - float(Life(2.3, 10.0).survival(10.0)),
    }[item]


@pytest.mark.parametrize("row", printed.rows("money_over_time"), ids=str)
def test_money_over_time(row: printed.Row) -> None:
    """Tests printed factors, yearly costs and best ages; time is scaled where it is in hours."""
    printed.check(row, reckoned(row.item))
