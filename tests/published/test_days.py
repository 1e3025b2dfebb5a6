"""Published values of tours with time windows and of great circles."""

from __future__ import annotations

from functools import cache

import pytest

import printed
from made_days import MAKESPAN, TRAVEL_ONLY, coordinate_instance, many_vans, matrix_instance
from tubside.day.exact import Rules, best_orders, value_of
from tubside.day.fleet import fleet_is_there, fleet_rounds
from tubside.day.problem import Place
from tubside.day.travel import great_circle


@cache
def solved(item: str) -> float:
    """Return the proven optimum of an instance for one of the two aims."""
    name, aim = item.split(" ", 1)
    read = matrix_instance if name == "n20w20.001" else coordinate_instance
    day = read(name, TRAVEL_ONLY if aim == "travel" else MAKESPAN)
    found = best_orders(day, 0, list(range(len(day.stops))), Rules(hard=True, slack=0.0))
    assert found.proven
    return found.costs[0]


ROWS = printed.rows("days")


@pytest.mark.parametrize("row", [row for row in ROWS if "R101" not in row.item], ids=str)
def test_tours(row: printed.Row) -> None:
    """Tests both aims of published tours with hard windows, proven."""
    printed.check(row, solved(row.item))


@pytest.mark.skipif(not fleet_is_there(), reason="needs PyVRP (extra fleet)")
@pytest.mark.parametrize("row", [row for row in ROWS if "R101" in row.item], ids=str)
def test_several_vans(row: printed.Row) -> None:
    """Tests the published length of several vans' tours, every promise kept."""
    day = many_vans("r101_25", vans=10, per_unit=10.0, on_site=10.0)
    rounds = fleet_rounds(day, list(range(25)), seed=1, iterations=300)
    assert sorted(at for order in rounds for at in order) == list(range(25))
    assert max(len(order) for order in rounds) <= 4
    lengths = [value_of(day, k, order, Rules(hard=True)) for k, order in enumerate(rounds)]
    printed.check(row, sum(lengths) / 10.0)


PLACES = {
    "36.12": (Place(36.12, -86.67), Place(33.94, -118.40)),
    "33 57": (Place(33 + 57 / 60, -118 - 24 / 60), Place(40 + 38 / 60, -73 - 47 / 60)),
}


@pytest.mark.parametrize("row", printed.rows("great_circle"), ids=str)
def test_great_circles(row: printed.Row) -> None:
    """Tests lengths of great circles, on the radius that the source takes."""
    places = next(both for start, both in PLACES.items() if row.item.startswith(start))
    radius = 1.0 if "radians" in row.item else float(row.item.split(" R ")[1].split()[0])
    printed.check(row, float(great_circle(places, radius)[0, 1]))
