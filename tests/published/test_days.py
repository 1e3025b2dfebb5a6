"""Published values of tours with time windows and of great circles."""

from __future__ import annotations

import pytest

import printed
from made_days import MAKESPAN, TRAVEL_ONLY, coordinate_instance, many_vans, matrix_instance
from tubside.day.exact import Rules, best_orders, value_of
from tubside.day.fleet import fleet_is_there, fleet_rounds
from tubside.day.problem import Place
from tubside.day.travel import great_circle

PLACES = {
    "36.12": (Place(36.12, -86.67), Place(33.94, -118.40)),
    "33 57": (Place(33 + 57 / 60, -118 - 24 / 60), Place(40 + 38 / 60, -73 - 47 / 60)),
}


def tour(item: str) -> float:
    """Return the proven optimum of an instance of one van, for one of the two aims."""
    name, aim = item.split(" ", 1)
    read = matrix_instance if name == "n20w20.001" else coordinate_instance
    day = read(name, TRAVEL_ONLY if aim == "travel" else MAKESPAN)
    found = best_orders(day, 0, list(range(len(day.stops))), Rules(hard=True, slack=0.0))
    assert found.proven
    return found.costs[0]


def several_vans() -> float:
    """Return the length of the tours of several vans, every promise kept."""
    day = many_vans("r101_25", vans=10, per_unit=10.0, on_site=10.0)
    rounds = fleet_rounds(day, list(range(25)), seed=1, iterations=300)
    assert sorted(at for order in rounds for at in order) == list(range(25))
    assert max(len(order) for order in rounds) <= 4
    lengths = [value_of(day, k, order, Rules(hard=True)) for k, order in enumerate(rounds)]
    return sum(lengths) / 10.0


def length(item: str) -> float:
    """Return the length of a great circle, on the radius that the source takes."""
    places = next(both for start, both in PLACES.items() if item.startswith(start))
    radius = 1.0 if "radians" in item else float(item.split(" R ")[1].split(maxsplit=1)[0])
    return float(great_circle(places, radius)[0, 1])


def day_value(item: str) -> float:
    """Return what we compute for an item of the table of tours."""
    if "R101" not in item:
        return tour(item)
    if not fleet_is_there():
        pytest.skip("needs PyVRP (extra fleet)")
    return several_vans()


OURS = {"days": day_value, "great_circle": length}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_days(row: printed.Row) -> None:
    """Tests tours with time windows, proven, and lengths of great circles."""
    printed.check(row, OURS[row.table](row.item))
