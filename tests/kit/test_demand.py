"""Tests of demand, reorder points and van stock against scipy and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from tubside.errors import KitError
from tubside.kit.demand import Rate, over_time, poisson, prior_rate, short_with
from tubside.kit.newsvendor import critical_ratio, from_counts
from tubside.kit.van_stock import Carried, reorder_point, van_stock

SURE = 1e9
"""Units of history with which a rate is as good as known."""


@pytest.mark.parametrize("rate", [Rate(1.0, 90.0), Rate(7.5, 365.0), Rate(0.3, 1000.0)])
def test_negative_binomial(rate: Rate) -> None:
    """Tests the demand over a time against scipy's negative binomial."""
    days = 14.0
    theirs = stats.nbinom(rate.shape, rate.time / (rate.time + days))
    np.testing.assert_allclose(over_time(rate, days, 30), theirs.pmf(np.arange(31)), rtol=1e-9)
    assert short_with(rate, days, 3) == pytest.approx(float(theirs.sf(2)), abs=1e-12)


def test_tends_to_poisson() -> None:
    """Tests that a rate that is known gives the Poisson distribution."""
    known = over_time(Rate(SURE, SURE / 0.3), 10.0, 12)
    np.testing.assert_allclose(known, stats.poisson(3.0).pmf(np.arange(13)), atol=1e-6)
    np.testing.assert_allclose(poisson(3.0, 12), stats.poisson(3.0).pmf(np.arange(13)), rtol=1e-9)


@pytest.mark.parametrize(("mean", "fill"), [(0.2, 0.9), (1.5, 0.95), (4.0, 0.95), (9.0, 0.99)])
def test_reorder_point(mean: float, fill: float) -> None:
    """Tests the reorder point against the quantile that scipy gives."""
    known = Rate(SURE, SURE * 10.0 / mean)
    assert reorder_point(known, 10.0, fill) == int(stats.poisson(mean).ppf(fill))


def test_what_is_not_known_costs_stock() -> None:
    """Tests that with the same mean an uncertain rate needs at least as much stock."""
    vague, known = Rate(0.5, 50.0), Rate(500.0, 50_000.0)
    assert vague.mean == known.mean
    assert reorder_point(vague, 300.0, 0.98) > reorder_point(known, 300.0, 0.98)


def test_prior_of_the_packs() -> None:
    """Tests that the prior has the packs' rate and gives way to history."""
    prior = prior_rate(12.0)
    assert prior.mean * 365.0 == pytest.approx(12.0)
    assert prior.after(40, 365.0).mean * 365.0 == pytest.approx(41 / (1 + 1 / 12), rel=1e-9)


def test_van_stock_reaches_its_target() -> None:
    """Tests that the stock reaches the fill rate, and with any unit less does not."""
    parts = [
        Carried(Rate(9.0, 365.0), 10.0, 0.12, 14.0),
        Carried(Rate(5.0, 365.0), 10.0, 0.07, 55.0),
        Carried(Rate(1.0, 365.0), 21.0, 0.02, 90.0),
    ]

    def lacks(units: list[int]) -> float:
        pairs = zip(parts, units, strict=True)
        return sum(p.wanted * short_with(p.rate, p.lead_days, n) for p, n in pairs)

    found = van_stock(parts, 0.96)
    assert found.fill_rate == pytest.approx(1.0 - lacks(list(found.units)))
    assert found.fill_rate >= 0.96
    assert all(
        lacks([n - (one == other) for other, n in enumerate(found.units)]) > 0.04
        for one, held in enumerate(found.units)
        if held
    )


def test_fill_rate_is_a_lower_bound() -> None:
    """Tests by simulation that the jobs that lack nothing are no fewer than told."""
    rng, lead, day = np.random.default_rng(3), 5, 0.5
    chances, units = np.array([0.2, 0.1]), (2, 1)
    known = [Rate(SURE, SURE / (p * day)) for p in chances]
    parts = [Carried(rate, float(lead), p, 1.0) for rate, p in zip(known, chances, strict=True)]
    told = 1.0 - sum(
        p.wanted * short_with(p.rate, p.lead_days, n) for p, n in zip(parts, units, strict=True)
    )
    times = np.cumsum(rng.exponential(1.0 / day, 20_000))
    needs = rng.random((len(times), 2)) < chances
    lacking = np.zeros(len(times), dtype=bool)
    for part, held in enumerate(units):
        asked = times[needs[:, part]]
        recent = np.arange(len(asked)) - np.searchsorted(asked, asked - lead)
        lacking[np.flatnonzero(needs[:, part])[recent >= held]] = True
    assert 1.0 - lacking.mean() >= told - 0.01


def test_newsvendor_of_counts() -> None:
    """Tests that the whole number is the quantile of the counts."""
    chance = poisson(11.73, 60)
    assert from_counts(0.769, chance) == int(stats.poisson(11.73).ppf(0.769))


def test_refuses_what_cannot_be() -> None:
    """Tests that impossible numbers are refused in words."""
    with pytest.raises(KitError, match="above nought"):
        Rate(0.0, 1.0)
    with pytest.raises(KitError, match="not both nothing"):
        critical_ratio(0.0, 0.0)
    with pytest.raises(KitError, match="below 1"):
        van_stock([], 1.0)
    with pytest.raises(KitError, match="above nought"):
        prior_rate(0.0)
