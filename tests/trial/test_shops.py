"""Tests of learning on simulated shops whose true numbers are known."""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest

from tubside.pack.reading import PackSource
from tubside.trial.shop_jobs import bench_of, closed_jobs
from tubside.trial.shops import Oddity, draw_truth
from tubside.trial.trying_shops import Tries, summed_up, try_shop, try_shops


def test_same_seed_same_shop(small_pack: PackSource) -> None:
    """Tests that a shop and its jobs follow from the seed alone, and differ between seeds."""

    def jobs(seed: int) -> list[object]:
        rng = np.random.default_rng(seed)
        truth = draw_truth(small_pack.pack, rng)
        return list(closed_jobs(bench_of(small_pack.pack), truth, 20, rng))

    assert jobs(1) == jobs(1)
    assert jobs(1) != jobs(2)


def test_shares_of_jobs_are_the_shops(small_pack: PackSource) -> None:
    """Tests that causes are met as often as the shop's own weights say, within four sigma."""
    rng = np.random.default_rng(6)
    truth = draw_truth(small_pack.pack, rng)
    jobs = closed_jobs(bench_of(small_pack.pack), truth, 3000, rng)
    sure = [next(iter(job.causes)) for job in jobs if job.sure != "not-confirmed"]
    for name, weight in zip(truth.tables.origins, truth.tables.weights, strict=True):
        sigma = np.sqrt(len(sure) * weight * (1.0 - weight))
        assert abs(sure.count(name) - len(sure) * weight) < 4.0 * sigma + 1.0


def test_a_few_shops(small_pack: PackSource) -> None:
    """Tests that intervals hold about nine in ten, and that learning foretells better."""
    found = summed_up(try_shops(Tries(small_pack.pack, 250), range(4)))
    assert 0.85 < found.all_held < 0.95
    assert found.gain_later > 0.0
    assert found.shops == 4


def test_a_shop_off_the_model_is_told_apart(small_pack: PackSource) -> None:
    """Tests that observers who err far more than said spoil rows: the check can fail."""
    usual = try_shop(Tries(small_pack.pack, 300), 3).held["outcomes"]
    spoilt = try_shop(Tries(small_pack.pack, 300, Oddity(errs_more=12.0)), 3).held["outcomes"]
    assert spoilt[0] / spoilt[1] < usual[0] / usual[1] - 0.1


@pytest.mark.soak
def test_five_hundred_shops(small_pack: PackSource) -> None:
    """Tests that of 500 shops' intervals 88 to 92 % hold, and that learning pays as claimed.

    Of each kind of number they hold so but for three standard errors of that share.
    """
    with ProcessPoolExecutor(os.cpu_count()) as workers:
        found = summed_up(try_shops(Tries(small_pack.pack), range(500), workers))
    assert 0.88 <= found.all_held <= 0.92
    for kind, (share, of) in found.held.items():
        if "rare" not in kind:
            slack = 3.0 * np.sqrt(0.9 * 0.1 / of)
            assert 0.88 - slack <= share <= 0.92 + slack, kind
    assert found.better_later >= 0.95
    assert found.hardly_worse_later >= 0.99
