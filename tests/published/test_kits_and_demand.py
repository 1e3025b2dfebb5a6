"""Published examples of kits, fill rates, demand and the newsvendor."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

import printed
from tubside.kit.demand import Rate, poisson
from tubside.kit.newsvendor import critical_ratio, from_normal, from_uniform
from tubside.kit.one_visit import job_fill_rate, kit_cost

NEEDED = np.array([0.30, 0.20, 0.15, 0.10, 0.05])
HOLDING = np.array([2.0, 1.0, 3.0, 1.0, 4.0])
ASTHMA, CALLS = Rate(3.0, 5.0), Rate(10.0, 2.0).after(6 + 2 + 2 + 1, 4.0)
PAPERS, EXERCISE = critical_ratio(0.50, 0.15), critical_ratio(20.0 - 14.0, 14.0 - 5.0)


def kits() -> dict[str, float]:
    """The cheapest kits of all."""
    every = [kit for size in range(6) for kit in combinations(range(5), size)]
    costs = sorted(kit_cost(kit, NEEDED, HOLDING, 40.0) for kit in every)
    names = ("best", "second", "third", "fourth")
    return {f"mean cost of kit {name}": cost for name, cost in zip(names, costs, strict=False)}


def fill_rates() -> dict[str, float]:
    """Four jobs that need two parts."""
    chance = np.array([0.1, 0.05])
    stocks = ((0, 0), (1, 1), (2, 1))
    return {f"job fill rate with stock {s}": job_fill_rate(chance, s, 4) for s in stocks}


OURS = {
    "smith_1980_kit": kits(),
    "bijvank_2010_fill_rate": fill_rates(),
    "gelman_asthma": {
        "mean rate after 3 deaths in 2 (100 000)": ASTHMA.after(3, 2.0).mean,
        "mean rate after 30 deaths in 20 (100 000)": ASTHMA.after(30, 20.0).mean,
    },
    "bayes_rules_calls": {
        "shape after 6, 2, 2 and 1": CALLS.shape,
        "rate after four days": CALLS.time,
    },
    "poisson_table": {
        f"P(X <= {most}), mean {mean:g}": float(poisson(mean, most).sum())
        for mean, most in ((4.0, 7), (4.0, 8), (2.0, 4), (1.0, 2), (0.5, 1))
    },
    "nahmias_newsvendor": {
        "critical ratio": PAPERS,
        "number to buy": from_normal(PAPERS, 11.73, 4.74),
    },
    "newsvendor_exercise": {
        "critical ratio": EXERCISE,
        "number for demand even from 80 to 150": from_uniform(EXERCISE, 80.0, 150.0),
        "number for normal demand, 115 and 15": from_normal(EXERCISE, 115.0, 15.0),
    },
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_published_value(row: printed.Row) -> None:
    """Tests that a printed value comes out."""
    printed.check(row, OURS[row.table][row.item])
