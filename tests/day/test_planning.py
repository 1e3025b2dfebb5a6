"""Tests of the plan of a day."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, permutations

import numpy as np
import pytest

from made_days import invented_day
from tubside.day import planning
from tubside.day.draws import Draws, draw
from tubside.day.fleet import fleet_is_there
from tubside.day.planning import Effort, plan_day, plan_of, rounds_of
from tubside.day.problem import HOUR, Break, Day, Window
from tubside.day.running import expected_costs, one_order

QUICK = Effort(draws=300, judged=200, moved=40, iterations=100)


@pytest.mark.parametrize("seed", range(5))
def test_near_the_best_of_all_orders(seed: int) -> None:
    """Tests that the choice is within 1 % of the least expected cost of all 720 orders."""
    day = invented_day(seed, 6)
    plan = plan_day(day, 7)
    draws = draw(day, 8, 2000)  # other days than those it was chosen on
    orders = np.array(list(permutations(range(6))))
    costs = expected_costs(day, 0, orders, draws)
    chosen = [day.stop_at(name) for name in plan.rounds[0].order]
    ours = expected_costs(day, 0, np.array([chosen]), draws)[0]
    assert plan.proven
    assert ours <= 1.01 * costs.min()


@pytest.mark.parametrize("seed", range(3))
def test_near_the_best_way_to_share_out(seed: int) -> None:
    """Tests two technicians against all ways to share out and order six visits."""
    day = invented_day(seed, 6, 2)
    draws = draw(day, 8, 500)
    least = {
        (k, chosen): _least(day, k, chosen, draws)
        for k in range(2)
        for count in range(7)
        for chosen in combinations(range(6), count)
    }
    best = min(
        least[0, chosen] + least[1, tuple(at for at in range(6) if at not in chosen)]
        for k, chosen in least
        if k == 0
    )
    rounds = rounds_of(day, plan_day(day, 7).orders)
    ours = sum(
        float(expected_costs(day, k, one_order(order), draws)[0]) for k, order in enumerate(rounds)
    )
    assert ours <= 1.01 * best


def _least(day: Day, technician: int, chosen: tuple[int, ...], draws: Draws) -> float:
    """Return the least expected cost of all orders of the chosen visits."""
    orders = np.array(list(permutations(chosen)), dtype=np.intp)
    return float(expected_costs(day, technician, orders, draws).min())


def test_same_seed_same_plan() -> None:
    """Tests that the plan depends on the day and the seed alone."""
    day = invented_day(4, 9, 2)
    assert plan_day(day, 3, QUICK) == plan_day(day, 3, QUICK)


def test_who_cannot_go_is_not_sent() -> None:
    """Tests skills, people and a named technician, and that nobody is left out silently."""
    day = invented_day(5, 6, 2)
    stops = list(day.stops)
    stops[0] = replace(stops[0], skills=frozenset({"gas"}))
    stops[1] = replace(stops[1], people=2)
    stops[2] = replace(stops[2], technician="van 2")
    stops[3] = replace(stops[3], skills=frozenset({"gas", "sealed system"}))
    vans = (
        replace(day.technicians[0], skills=frozenset({"gas"})),
        replace(day.technicians[1], people=2),
    )
    plan = plan_day(replace(day, stops=tuple(stops), technicians=vans), 1, QUICK)
    assert stops[0].id in plan.orders["van 1"]
    assert {stops[1].id, stops[2].id} <= set(plan.orders["van 2"])
    assert [one.stop for one in plan.left_out] == [stops[3].id]
    assert "van 1: lacks sealed system" in plan.left_out[0].why
    everybody = {stop.id for stop in stops}
    assert set(plan.late) == everybody - {stops[3].id}


@pytest.mark.skipif(not fleet_is_there(), reason="needs PyVRP (extra fleet)")
def test_pyvrp_takes_part() -> None:
    """Tests that with PyVRP every visit is made once, and it is never worse than without."""
    day = invented_day(6, 14, 3)
    plan, without = plan_day(day, 1, QUICK), plan_day(day, 1, replace(QUICK, fleet=False))
    assert plan.method == "fleet"
    assert without.method == "small changes"
    assert sorted(plan.late) == sorted(stop.id for stop in day.stops)
    assert plan.cost <= without.cost + 4.0 * (plan.error + without.error)


def test_without_pyvrp_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that the missing extra is named and the day planned all the same."""
    monkeypatch.setattr(planning, "fleet_is_there", lambda: False)
    plan = plan_day(invented_day(6, 8, 2), 1, QUICK)
    assert not plan.proven
    assert any("tubside[fleet]" in note for note in plan.notes)


def test_many_visits_of_one_technician() -> None:
    """Tests that a day too long for the exact way beats going by the promises alone."""
    day = invented_day(8, 18)
    plan = plan_day(day, 1, QUICK)
    by_promise = sorted(
        day.stops, key=lambda stop: stop.promised.closes if stop.promised else 25 * HOUR
    )
    other = plan_of(day, {"van 1": tuple(stop.id for stop in by_promise)}, 1)
    assert not plan.proven
    assert len(plan.late) == 18
    assert plan.cost < other.cost


def test_dear_lateness_is_avoided() -> None:
    """Tests that a dearer promise is kept more surely: the choice is against lateness."""
    day = invented_day(3, 10)
    cheap = replace(day, prices=replace(day.prices, per_late=0.0, per_late_minute=0.0))
    dear = replace(day, prices=replace(day.prices, per_late=400.0))
    assert sum(plan_day(dear, 1).late.values()) < sum(plan_day(cheap, 1).late.values())


def test_a_pause_is_taken() -> None:
    """Tests that a pause lengthens the day by about its length where nobody waits."""
    day = invented_day(9, 5, promised=False)
    pause = (Break(8 * HOUR, 0.5 * HOUR),)
    broken = replace(day, technicians=(replace(day.technicians[0], breaks=pause),))
    assert plan_day(broken, 1).rounds[0].work == pytest.approx(
        plan_day(day, 1).rounds[0].work + 0.5 * HOUR, rel=1e-9
    )


def test_times_told() -> None:
    """Tests that visits follow one another, waits are told and overtime has its chance."""
    day = invented_day(2, 6)
    short = (replace(day.technicians[0], hours=Window(8 * HOUR, 8.5 * HOUR)),)
    line = plan_day(replace(day, technicians=short), 1).rounds[0]
    assert line.overtime == 1.0
    for visit, following in zip(line.visits, line.visits[1:], strict=False):
        assert visit.begins.low <= visit.begins.mean < visit.ends.mean < following.begins.mean
        assert visit.begins.low <= visit.begins.high
    assert line.work == pytest.approx(line.finish.mean - 8 * HOUR)
    assert any(visit.waits > 0 for visit in line.visits)
