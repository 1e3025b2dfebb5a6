"""Tests of the drawn days."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_days import invented_day
from tubside.day.draws import draw, mean_remaining
from tubside.day.problem import Busy, Floats, TimeOnSite


def test_draws_have_the_stated_spread() -> None:
    """Tests mean and 80 % range of drawn times on site and factors of travel."""
    day = invented_day(1, 3)
    draws = draw(day, 1, 4000)
    for stop, times in zip(day.stops, draws.on_site, strict=True):
        assert times.mean() == pytest.approx(stop.on_site.mean, rel=2e-3)
        assert np.quantile(times, [0.1, 0.9]) == pytest.approx(stop.on_site.range80(), rel=5e-3)
    alone = draw(replace(day, travel=replace(day.travel, day_spread=1.0)), 1, 4000).road[0]
    assert alone.mean() == pytest.approx(1.0, abs=2e-3)
    middle, high = (float(np.quantile(alone, at)) for at in (0.5, 0.9))
    assert high / middle == pytest.approx(1.25, rel=5e-3)


def correlation(rows: Floats) -> float:
    """Return the correlation of the first two rows."""
    first, second = rows[0] - rows[0].mean(), rows[1] - rows[1].mean()
    return float(np.mean(first * second) / (first.std() * second.std()))


def test_traffic_is_shared() -> None:
    """Tests that trips of one day go together, and do not without a day's spread."""
    day = invented_day(1, 2)
    busy = draw(replace(day, travel=replace(day.travel, day_spread=1.5)), 1, 2000).road
    calm = draw(replace(day, travel=replace(day.travel, day_spread=1.0)), 1, 2000).road
    assert correlation(busy) > 0.5
    assert abs(correlation(calm)) < 0.1


def test_a_stop_keeps_its_draws() -> None:
    """Tests that a stop's own column is the same whoever else is on the day."""
    day = invented_day(2, 5)
    fewer = replace(
        day,
        stops=day.stops[2:],
        travel=replace(
            day.travel,
            seconds=day.travel.seconds[2:, 2:],
            metres=day.travel.metres[2:, 2:],
        ),
    )
    assert np.array_equal(draw(day, 4, 50).on_site[2:], draw(fewer, 4, 50).on_site)
    assert np.array_equal(draw(day, 4, 50).road[2:], draw(fewer, 4, 50).road)
    assert not np.array_equal(draw(day, 4, 50).on_site, draw(day, 5, 50).on_site)


def test_what_is_left_of_a_visit() -> None:
    """Tests the rest of a visit under way against all visits that lasted so long."""
    time = TimeOnSite(3600.0, 1500.0, 6600.0)
    rng = np.random.default_rng(1)
    times = time.mean * np.exp(time.sigma * rng.standard_normal(400_000) - time.sigma**2 / 2)
    for elapsed in (600.0, 3600.0, 9000.0):
        left = times[times > elapsed] - elapsed
        assert mean_remaining(Busy(time, elapsed)) == pytest.approx(left.mean(), rel=0.02)
    assert mean_remaining(None) == 0.0
    assert mean_remaining(Busy(TimeOnSite(60.0, 60.0, 60.0), 90.0)) == 0.0
    assert 0.0 < mean_remaining(Busy(time, 1e6)) < 1e7
