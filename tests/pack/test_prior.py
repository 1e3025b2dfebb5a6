"""Tests of the prior over sets of causes, against writing out every set."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from made_models import Shape as ModelShape
from made_models import every_set, made_model, made_prior, permuted
from tiny_models import rows_of
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import log_prior, prior_now
from tubside.pack.fault_model import Axis, Floats, Prior
from tubside.pack.loading import LoadedPack
from tubside.pack.prior import log_mass, main_shares, solve_odds, total_mass

SHAPES = [
    (2, False, False),
    *((n, axis, leads) for n in (3, 6, 10) for axis in (False, True) for leads in (False, True)),
]


def plain_mass(prior: Prior, members: list[int]) -> float:
    """Return m(S) as the formula of the module is written."""
    mass = float(np.prod(prior.odds[members]))
    for i, j, factor in prior.leads:
        mass *= factor if i in members and j in members else 1.0
    for axis in prior.axes:
        total = 0.0
        for value, share in enumerate(axis.shares):
            term = float(share)
            for position, cause in enumerate(axis.members):
                if cause in members:
                    term *= float(axis.applies[position, value]) / float(
                        axis.member_share[position]
                    )
            total += term
        mass *= total
    return mass


def plain_main_shares(prior: Prior) -> tuple[Floats, float, float]:
    """Return main-cause shares, P(two or more) and Z by writing out all sets."""
    n = len(prior.odds)
    sets = [list(c) for size in range(1, n + 1) for c in combinations(range(n), size)]
    mass = np.array([plain_mass(prior, members) for members in sets])
    chance = mass / mass.sum() * (1.0 - prior.healthy.sum())
    main = np.zeros(n)
    for members, p in zip(sets, chance, strict=True):
        main[members] += p * prior.odds[members] / prior.odds[members].sum()
    several = float(sum(p for members, p in zip(sets, chance, strict=True) if len(members) > 1))
    return main, several, float(mass.sum()) + plain_mass(prior, [])


@pytest.mark.parametrize(("n", "axis", "leads"), SHAPES)
def test_weights_come_back(n: int, axis: bool, leads: bool) -> None:
    """Tests that solved odds give the weights and the share of second faults, set by set."""
    rng = np.random.default_rng(n)
    weights = np.random.default_rng(n).dirichlet(np.full(n, 2.0)) * 0.96
    prior = made_prior(rng, n, axis=axis, leads=leads)
    main, several, z = plain_main_shares(prior)
    assert main == pytest.approx(weights, rel=1e-9)
    assert several == pytest.approx(0.08, rel=1e-9)
    assert float(total_mass(prior, prior.odds[:, None])[0]) == pytest.approx(z, rel=1e-13)


@pytest.mark.parametrize("second", [0.001, 0.05, 0.3])
def test_share_of_second_faults_is_kept(second: float) -> None:
    """Tests other shares of second faults, rare and frequent."""
    prior = made_prior(np.random.default_rng(3), 7, axis=True, leads=True, second=second)
    assert plain_main_shares(prior)[1] == pytest.approx(second, rel=1e-9)


def test_very_uneven_weights_come_back() -> None:
    """Tests weights from one in two calls down to one in a hundred thousand."""
    weights = np.array([0.5, 0.3, 0.1, 0.05, 0.00999, 0.00001])
    empty = Prior(np.ones(6), np.array([0.02, 0.02]), (), ((0, 5, 10.0),))
    prior = solve_odds(weights, 0.08, empty)
    assert plain_main_shares(prior)[0] == pytest.approx(weights, rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_integral_agrees_with_enumeration(seed: int) -> None:
    """Tests the main-cause shares of odds that are not solved for."""
    rng = np.random.default_rng(seed)
    solved = made_prior(rng, 8, axis=True, leads=True)
    prior = replace(solved, odds=solved.odds * rng.uniform(0.01, 30.0, 8))
    main, several, _ = plain_main_shares(prior)
    got, got_several = main_shares(prior)
    assert got == pytest.approx(main, rel=1e-10)
    assert got_several == pytest.approx(several, abs=1e-11)


def test_mass_of_every_set() -> None:
    """Tests the mass of each set against the formula, impossible sets included."""
    model = made_model(ModelShape(causes=7, seed=2))
    sets = every_set(7)
    with np.errstate(divide="ignore"):
        wanted = np.log([plain_mass(model.prior, members) for members in rows_of(sets.members)])
    assert np.isneginf(wanted).any()
    assert log_mass(model.prior, sets.members) == pytest.approx(wanted, abs=1e-12)


def test_probabilities_of_all_sets_sum_to_one() -> None:
    """Tests that P(S) over all sets and both healthy hypotheses sums to one."""
    model = made_model(ModelShape(causes=8, seed=4))
    prior, scale = prior_now(model, Evidence())
    assert np.exp(log_prior(prior, scale, every_set(8))).sum() == pytest.approx(1.0, abs=1e-12)


def test_answers_on_variants_reweigh_all_sets() -> None:
    """Tests Z under reweighed variants, also on an axis that no cause depends on."""
    model = made_model(ModelShape(causes=6, seed=5))
    idle = Axis(
        np.array([0.9, 0.1]), np.zeros(0, dtype=np.int64), np.zeros((0, 2), bool), np.zeros(0)
    )
    axes = (replace(model.prior.axes[0], shares=np.array([0.05, 0.2, 0.3])), idle)
    prior = replace(model.prior, axes=(axes[0], replace(idle, shares=np.array([0.4, 0.02]))))
    assert float(total_mass(prior, prior.odds[:, None])[0]) == pytest.approx(
        plain_main_shares(prior)[2], rel=1e-13
    )


def test_order_of_causes_does_not_matter() -> None:
    """Tests that permuting the causes permutes their shares."""
    model = made_model(ModelShape(causes=9, seed=6))
    order = np.random.default_rng(0).permutation(9)
    got, several = main_shares(permuted(model, order).prior)
    main, expected = main_shares(model.prior)
    assert got == pytest.approx(main[order], rel=1e-12)
    assert several == pytest.approx(expected, rel=1e-12)


def test_shipped_weights_come_back(any_pack: LoadedPack) -> None:
    """Tests that each pack's model has the pack's weights and share of second faults."""
    pack, prior = any_pack.pack, any_pack.model.prior
    weights = np.array([cause.weight for cause in pack.causes.values()])
    healthy = np.array([pack.healthy[name].weight for name in ("nothing-wrong", "cleared-itself")])
    total = weights.sum() + healthy.sum()
    main, several = main_shares(prior)
    assert main == pytest.approx(weights / total, rel=1e-9)
    assert several == pytest.approx(pack.second_fault_share, rel=1e-9)
    assert prior.healthy == pytest.approx(healthy / total, rel=1e-12)


def test_unknown_age_gives_the_weights_back(any_pack: LoadedPack) -> None:
    """Tests that odds by age average to the odds of an unknown age, for every cause."""
    model = any_pack.model
    mix = np.array(any_pack.pack.age_mix)
    odds = [prior_now(model, Evidence(age_years=float(a)))[0].odds for a in range(len(mix))]
    assert (mix / mix.sum()) @ np.array(odds) == pytest.approx(model.prior.odds, rel=1e-12)
    assert np.ptp(np.array(odds), axis=0).max() > 0.0


def test_many_causes_lead_to_one() -> None:
    """Tests a star of leads with a tail against writing out all sets."""
    n = 11
    weights = np.random.default_rng(5).dirichlet(np.full(n, 2.0)) * 0.96
    leads = (*((i, 0, 2.0 + i) for i in range(1, 8)), (8, 3, 6.0), (9, 10, 1.5), (1, 4, 3.0))
    prior = solve_odds(weights, 0.1, Prior(np.ones(n), np.array([0.02, 0.02]), (), leads))
    main, several, z = plain_main_shares(prior)
    assert main == pytest.approx(weights, rel=1e-9)
    assert several == pytest.approx(0.1, rel=1e-9)
    assert float(total_mass(prior, prior.odds[:, None])[0]) == pytest.approx(z, rel=1e-13)
