"""Tests of what one more call, an emergency or an order by hand does to a day."""

from __future__ import annotations

from dataclasses import replace

import pytest

from made_days import invented_day
from tubside.day.changing import cost_of_order, emergency, squeeze
from tubside.day.planning import Effort, plan_day, plan_of
from tubside.day.problem import HOUR, MINUTE, Break, Day
from tubside.day.resuming import Stand, resumed
from tubside.errors import DayError

QUICK = Effort(draws=300, judged=200, moved=40, fleet=False)


def planned_without(day: Day, stop: str) -> dict[str, tuple[str, ...]]:
    """Return orders of a plan from which one stop was then taken out."""
    orders = plan_day(day, 1, QUICK).orders
    return {one: tuple(at for at in order if at != stop) for one, order in orders.items()}


def test_squeeze_is_the_best_place() -> None:
    """Tests that no other place of the new stop costs less, on the same days."""
    day = invented_day(11, 8, 2)
    before = planned_without(day, "visit 3")
    found = squeeze(day, before, "visit 3", 5)
    old = plan_of(day, before, 5).cost
    for technician, order in before.items():
        for place in range(len(order) + 1):
            tried = {**before, technician: (*order[:place], "visit 3", *order[place:])}
            assert found.change.cost <= plan_of(day, tried, 5).cost - old + 1e-9
    assert found.change.after.orders[found.technician][found.place] == "visit 3"
    assert found.change.work > 0.0
    assert found.late == found.change.after.late["visit 3"]


def test_promises_at_risk_are_named() -> None:
    """Tests that exactly the promises whose chance rises over the threshold are named."""
    day = invented_day(12, 9)
    long_one = replace(day.stops[0], promised=None, on_site=replace(day.stops[0].on_site))
    long_one = replace(long_one, on_site=type(long_one.on_site)(2 * HOUR, 1.5 * HOUR, 3 * HOUR))
    day = replace(day, stops=(long_one, *day.stops[1:]))
    before = planned_without(day, long_one.id)
    old = plan_of(day, before, 5).late
    found = emergency(day, before, long_one.id, 5, threshold=0.3)
    new = found.change.after.late
    rising = {one for one in old if new[one] > 0.3 >= old[one]}
    assert found.place == 0
    assert rising
    assert {risk.stop for risk in found.change.at_risk} == rising
    assert all(risk.before == old[risk.stop] for risk in found.change.at_risk)


def test_order_by_hand() -> None:
    """Tests that the plan's own order costs nothing and its reverse costs what it is told."""
    day = invented_day(13, 7)
    best = plan_day(day, 1, QUICK).orders
    assert cost_of_order(day, best, best, 2).cost == 0.0
    turned = {one: tuple(reversed(order)) for one, order in best.items()}
    change = cost_of_order(day, best, turned, 2)
    assert change.cost > 0.0
    assert change.cost == pytest.approx(plan_of(day, turned, 2).cost - plan_of(day, best, 2).cost)


def test_orders_that_cannot_be() -> None:
    """Tests that lost, doubled and unfitting stops are named."""
    day = invented_day(14, 4, 2)
    one = replace(day.stops[0], technician="van 1")
    day = replace(day, stops=(one, *day.stops[1:]))
    best = {"van 1": ("visit 1", "visit 2"), "van 2": ("visit 3", "visit 4")}
    with pytest.raises(DayError, match="missing: visit 2"):
        cost_of_order(day, best, {"van 1": ("visit 1",), "van 2": ("visit 3", "visit 4")}, 1)
    with pytest.raises(DayError, match="twice: visit 3"):
        cost_of_order(day, best, {**best, "van 1": ("visit 1", "visit 2", "visit 3")}, 1)
    with pytest.raises(DayError, match="van 2 cannot make visit 1"):
        cost_of_order(
            day, best, {"van 2": ("visit 1", "visit 3", "visit 4"), "van 1": ("visit 2",)}, 1
        )
    with pytest.raises(DayError, match="in the order already"):
        squeeze(day, best, "visit 3", 1)
    barred = replace(one, technician="somebody else")
    with pytest.raises(DayError, match="nobody of this day can visit visit 1"):
        squeeze(replace(day, stops=(barred, *day.stops[1:])), {"van 2": ("visit 3",)}, "visit 1", 1)


def test_the_rest_of_a_day() -> None:
    """Tests that what is done stays done and everybody goes on from where they are."""
    day = invented_day(15, 7, 2)
    lunch = (Break(9 * HOUR, 0.25 * HOUR), Break(12 * HOUR, 0.5 * HOUR))
    day = replace(day, technicians=tuple(replace(one, breaks=lunch) for one in day.technicians))
    first = day.stops[0]
    now = 10 * HOUR
    stands = {"van 1": Stand("visit 1", since=now - 20 * MINUTE), "van 2": Stand("visit 2")}
    rest = resumed(day, now, frozenset({"visit 2", "visit 5"}), stands)
    assert [stop.id for stop in rest.stops] == ["visit 3", "visit 4", "visit 6", "visit 7"]
    van, other = rest.technicians
    assert van.start == first.place
    assert van.busy is not None
    assert van.busy.elapsed == 20 * MINUTE
    assert van.breaks == lunch[1:]
    assert other.busy is None
    before, after = day.travel.seconds, rest.travel.seconds
    assert after[rest.start_node(0), 0] == before[0, 2]
    assert after[rest.start_node(1), 3] == before[1, 6]
    assert after[3, rest.start_node(0) + 1] == before[6, day.start_node(0) + 1]
    plan = plan_day(rest, 1, QUICK)
    assert sorted(plan.late) == [stop.id for stop in rest.stops]
    assert all(one.finish.low >= now for one in plan.rounds)


def test_a_rest_that_cannot_be() -> None:
    """Tests that a visit that began after now is refused."""
    day = invented_day(15, 3)
    with pytest.raises(DayError, match="cannot have begun after now"):
        resumed(day, 9 * HOUR, frozenset(), {"van 1": Stand("visit 1", since=10 * HOUR)})
