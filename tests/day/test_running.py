"""Tests of orders run through drawn days."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from made_days import HERE, invented_day
from tubside.day.draws import draw
from tubside.day.planning import plan_of
from tubside.day.problem import (
    NO_TIME,
    Z90,
    Break,
    Day,
    Place,
    Prices,
    Stop,
    Technician,
    TimeOnSite,
    Travel,
    Window,
)
from tubside.day.running import begin_of, expected_costs, one_order, outcome
from tubside.errors import DayError

PAUSES = (Break(100.0, 30.0), Break(200.0, 15.0))
times = st.floats(0.0, 400.0)


@given(times, times, times, times)
def test_later_never_begins_sooner(
    arrives: float, later: float, before: float, opens: float
) -> None:
    """Tests that a later arrival never means an earlier begin: what dominance rests on."""
    first, second = sorted((arrives, later))
    earlier = min(before, first)

    def begins(arrival: float, previous: float) -> float:
        ready = begin_of(np.array(arrival), np.array(previous), np.array(opens), PAUSES)
        return float(np.maximum(ready, opens))

    assert begins(first, earlier) <= begins(second, earlier)
    assert begins(first, earlier) >= max(first, opens)


def test_pauses_by_hand() -> None:
    """Tests pauses worked out by hand: none due, one due, waiting taken into it, taken before."""
    cases = [
        ((50.0, 0.0, 0.0), 50.0),  # nothing due yet
        ((100.0, 0.0, 0.0), 130.0),  # due on arrival
        ((80.0, 0.0, 120.0), 130.0),  # begins while waiting: from 100 on, the window then open
        ((120.0, 110.0, 0.0), 120.0),  # taken before the visit before
        ((190.0, 0.0, 0.0), 235.0),  # the first moves the visit into the second
    ]
    for (arrives, before, opens), wanted in cases:
        ready = begin_of(np.array(arrives), np.array(before), np.array(opens), PAUSES)
        assert float(np.maximum(ready, opens)) == wanted


def one_trip(closes: float, leg: float, day: float) -> Day:
    """Return a day of one trip of an hour to one stop."""
    hour = np.array([[0.0, 0.0, 0.0], [3600.0, 0.0, 0.0], [3600.0, 0.0, 0.0]])
    stop = Stop("a", HERE, NO_TIME, Window(0.0, closes))
    van = Technician("van", HERE, HERE, Window(0.0, 8 * 3600.0))
    return Day((stop,), (van,), Travel(hour, hour, leg, day), Prices())


@pytest.mark.parametrize("closes", [3000.0, 3600.0, 4500.0])
def test_late_chance_of_one_trip(closes: float) -> None:
    """Tests the chance to be late against its closed form: trip and traffic multiply."""
    plan = plan_of(one_trip(closes, 1.3, 1.2), {"van": ("a",)}, 1, 4000)
    sigma = math.hypot(math.log(1.3), math.log(1.2)) / Z90
    middle = -0.5 * (math.log(1.3) ** 2 + math.log(1.2) ** 2) / Z90**2
    wanted = 1.0 - NormalDist().cdf((math.log(closes / 3600.0) - middle) / sigma)
    # two strata of 4000 each, multiplied: three standard errors of a plain sample are enough
    assert plan.late["a"] == pytest.approx(wanted, abs=3.0 * math.sqrt(0.25 / 4000))


def walked(day: Day, order: list[int], rng: random.Random) -> list[float]:
    """Return when each visit begins on one day, in plain steps and with other chance."""

    def factor(spread: float) -> float:
        sigma = math.log(spread) / Z90
        return math.exp(rng.gauss(-0.5 * sigma**2, sigma))

    van, traffic = day.technicians[0], factor(day.travel.day_spread)
    now, here, begins = van.hours.opens, day.start_node(0), []
    for at in order:
        stop = day.stops[at]
        now += day.travel.seconds[here, at] * traffic * factor(day.travel.leg_spread)
        if stop.promised is not None:
            now = max(now, stop.promised.opens)
        begins.append(now)
        sigma = stop.on_site.sigma
        now += stop.on_site.mean * math.exp(rng.gauss(-0.5 * sigma**2, sigma))
        here = at
    return begins


@pytest.mark.parametrize("seed", [20, 25, 36])
def test_late_chances_against_plain_steps(seed: int) -> None:
    """Tests late chances of a whole round, waits in it, against another way to simulate."""
    day, count = invented_day(seed, 7), 6000
    opens = [stop.promised.opens if stop.promised else math.inf for stop in day.stops]
    order = sorted(range(7), key=lambda at: opens[at])
    plan = plan_of(day, {"van 1": tuple(day.stops[at].id for at in order)}, 3, 6000)
    rng = random.Random(5)  # noqa: S311 - a simulation, no secret
    begins = np.array([walked(day, order, rng) for _ in range(count)])
    uncertain = 0
    for at, visit in enumerate(plan.rounds[0].visits):
        promised = day.stops[order[at]].promised
        late = float((begins[:, at] > promised.closes).mean()) if promised else 0.0
        # three standard errors of the difference of two samples, and one case more
        error = 3.0 * math.sqrt(2.0 * max(late * (1.0 - late), 1.0 / count) / count)
        assert visit.late == pytest.approx(late, abs=error)
        assert visit.begins.mean == pytest.approx(begins[:, at].mean(), rel=2e-3)
        uncertain += 0.01 < late < 0.99
    assert uncertain >= 2


def test_costs_add_up() -> None:
    """Tests the cost of one trip by hand: an hour of work, a late promise, metres, overtime."""
    day = one_trip(1800.0, 1.0, 1.0)
    vans = (replace(day.technicians[0], hours=Window(0.0, 3000.0)),)
    day = replace(day, technicians=vans, prices=Prices(0.5, 2.0, 10.0, 0.25, 1.0))
    cost = expected_costs(day, 0, one_order([0]), draw(day, 1, 3))[0]
    assert cost == pytest.approx(60 * 0.5 + 3.6 * 2.0 + 10.0 + 30 * 0.25 + 10 * 1.0)


def test_an_order_alone_or_among_others() -> None:
    """Tests that an order costs the same whatever others run beside it."""
    day = invented_day(1, 6, 2)
    draws = draw(day, 2, 40)
    orders = np.array([[0, 1, 2, 3], [3, 2, 1, 0], [5, 4, 1, 2]])
    together = outcome(day, 1, orders, draws)
    for at, order in enumerate(orders):
        alone = outcome(day, 1, order.reshape(1, -1), draws)
        assert np.array_equal(alone.cost[0], together.cost[at])
        assert np.array_equal(alone.finish[0], together.finish[at])


def test_what_cannot_be_a_day() -> None:
    """Tests that ids twice, travel of another size and holes in it are refused."""
    day = invented_day(1, 2)
    with pytest.raises(DayError, match="two stops are called visit 1"):
        replace(day, stops=(day.stops[0], day.stops[0]))
    with pytest.raises(DayError, match="the day has 3"):
        replace(day, stops=day.stops[:1])
    with pytest.raises(DayError, match="is missing or below nought"):
        replace(day, travel=replace(day.travel, seconds=day.travel.seconds * np.nan))
    with pytest.raises(DayError, match="closes before it opens"):
        Window(2.0, 1.0)
    with pytest.raises(DayError, match="the mean lies inside"):
        TimeOnSite(10.0, 20.0, 30.0)
    with pytest.raises(DayError, match="begins above nought"):
        TimeOnSite(10.0, 0.0, 30.0)
    with pytest.raises(DayError, match="no technician is called nobody"):
        plan_of(day, {"nobody": ()}, 1)
    assert Place(-90.0, 180.0).lat == -90.0
