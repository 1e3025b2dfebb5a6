"""Flashes and blinks: the best run of a circle against trying every run."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.recordings.rhythms import (
    blink_counts,
    flash_rates,
    free_paths,
    refined,
    run_at,
    runs_by_rate,
)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(-8, 8), min_size=6, max_size=24),
    st.floats(0.3, 3.0),
)
def test_the_best_flash_is_the_best_of_all_runs(nats: list[float], period: float) -> None:
    """Tests both ways of finding a flash against every run of every length on the circle."""
    for_lit = np.array(nats)
    t = 1.0 + np.cumsum(0.1 + 0.013 * np.sin(np.arange(len(nats)) ** 2))  # no two phases alike
    turned = for_lit[np.argsort(t / period % 1.0)]
    runs = [
        float(np.roll(turned, -k)[:n].sum()) for k in range(len(nats)) for n in range(len(nats) + 1)
    ]
    assert runs_by_rate(t, for_lit[None], np.array([1 / period]))[0, 0] == pytest.approx(
        max(runs), abs=1e-9
    )
    found = run_at(t, for_lit, period)
    assert found.gain == pytest.approx(max(runs), abs=1e-9)
    assert float(for_lit[found.lit_at(t)].sum()) == pytest.approx(found.gain, abs=1e-6)


@pytest.mark.parametrize("period", [0.31, 0.77, 1.9])
def test_a_period_is_found_within_a_percent(period: float) -> None:
    """Tests that the best rate, refined, gives period and lit share of a clean flash."""
    t = np.sort(np.random.default_rng(1).uniform(0.0, 8.0, 240))
    for_lit = np.where((t - 0.1) / period % 1.0 < 0.4, 5.0, -5.0)
    rates = flash_rates(t)
    best = rates[runs_by_rate(t, for_lit[None], rates)[0].argmax()]
    found = refined(t, for_lit, float(best))
    assert found.period_s == pytest.approx(period, rel=0.01)
    assert found.duty == pytest.approx(0.4, abs=0.06)


def test_a_free_path_is_the_cheapest_of_all_paths() -> None:
    """Tests the path against all 512 paths of nine frames, 7 nats paid for each switch."""
    for_lit = np.random.default_rng(4).normal(0.0, 8.0, (1, 9))
    paths = (np.arange(512)[:, None] >> np.arange(9)) & 1
    gains = paths @ for_lit[0] - 7.0 * np.abs(np.diff(paths, axis=1)).sum(1)
    gain, path = free_paths(for_lit)
    assert gain[0] == pytest.approx(gains.max())
    assert (path[0] == paths[gains.argmax()]).all()


def test_a_blink_missed_inside_a_group_is_counted() -> None:
    """Tests that three blinks of which the middle one was not seen count as three."""
    t = np.arange(130, dtype=np.float64) * 0.05
    lit = np.zeros(130, dtype=np.bool_)
    for start in (20, 28, 36, 80, 96):
        lit[start : start + 4] = True
    assert blink_counts(t, lit).counts == (3, 3)


def test_a_blink_cut_off_at_the_start_gives_no_pace() -> None:
    """Tests groups of three of which the clip's start cuts a blink to a quarter."""
    t = np.arange(240, dtype=np.float64) / 30
    lit = ((t + 0.95) % 2.0 < 1.2) & ((t + 0.95) % 2.0 % 0.4 < 0.2)
    assert lit[0]
    assert blink_counts(t, lit).counts == (3, 3, 3)


def test_an_even_flash_has_no_counts() -> None:
    """Tests that equal gaps give neither groups nor counts."""
    t = np.arange(120, dtype=np.float64) * 0.05
    assert blink_counts(t, t % 1.0 < 0.5).counts == ()
