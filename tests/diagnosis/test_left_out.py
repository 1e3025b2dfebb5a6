"""Tests of the bound on what was not kept, against keeping everything."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_facts import made_facts
from made_models import Shape, every_set, made_model
from tubside.diagnosis.belief import Belief, believe, believe_sets
from tubside.diagnosis.evidence import Answer, Evidence
from tubside.diagnosis.facts import Coded, Fact, Reported, Settled, evidence_of
from tubside.diagnosis.hypotheses import Sets
from tubside.pack.fault_model import Axis, FaultModel
from tubside.pack.loading import LoadedPack

ROUNDING = 1e-11


def whole(model: FaultModel, evidence: Evidence) -> Belief:
    """Return the belief over every set."""
    return believe_sets(model, evidence, every_set(model.n_causes), bounded=False)


def left_out_mass(full: Belief, kept: Sets) -> float:
    """Return the posterior mass of the sets that are not among ``kept``."""
    names = {(row.tobytes(), int(h)) for row, h in zip(kept.members, kept.healthy, strict=True)}
    sets = full.rows.sets
    inside = [
        (row.tobytes(), int(h)) in names for row, h in zip(sets.members, sets.healthy, strict=True)
    ]
    return float(full.probability[~np.array(inside)].sum())


def check(model: FaultModel, evidence: Evidence, size: int) -> Belief:
    """Assert that the bound holds for the mass left out and for every stated chance."""
    full, belief = whole(model, evidence), believe(model, evidence, size)
    assert left_out_mass(full, belief.rows.sets) <= belief.left_out + ROUNDING
    for mine, true in (
        (belief.at_call(), full.at_call()),
        (belief.now(), full.now()),
        (belief.healthy(), full.healthy()),
    ):
        assert np.abs(mine - true).max() <= belief.left_out + ROUNDING
    assert abs(belief.mended() - full.mended()) <= belief.left_out + ROUNDING
    return belief


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**31), size=st.sampled_from([14, 25, 60, 200]))
def test_bound_holds(seed: int, size: int) -> None:
    """Tests random facts, remedies among them, on models of ten causes."""
    model = made_model(Shape(causes=10, seed=seed % 9, for_health=seed % 3 == 0))
    check(model, evidence_of(model, made_facts(model, np.random.default_rng(seed), 8)), size)


@pytest.mark.parametrize("seed", range(3))
def test_bound_holds_with_twelve_causes(seed: int) -> None:
    """Tests the same on four thousand sets, kept to sixty."""
    model = made_model(Shape(causes=12, conditions=8, findings=10, seed=seed))
    check(model, evidence_of(model, made_facts(model, np.random.default_rng(seed), 5)), 60)


def test_bound_holds_on_the_small_pack(small_model: FaultModel) -> None:
    """Tests twenty random jobs on the small pack."""
    for seed in range(20):
        rng = np.random.default_rng(seed)
        check(small_model, evidence_of(small_model, made_facts(small_model, rng, 8)), 40)


def test_bound_holds_on_an_axis_without_causes() -> None:
    """Tests that settling a variant on which nothing depends does not spoil the bound."""
    model = made_model(Shape(causes=8, seed=1))
    idle = Axis(
        np.array([0.02, 0.98]), np.zeros(0, dtype=np.int64), np.zeros((0, 2), bool), np.zeros(0)
    )
    model = replace(model, prior=replace(model.prior, axes=(*model.prior.axes, idle)))
    plain = believe(model, Evidence(), 30)
    facts = [Fact("settled", Settled(1, np.array([1.0, 0.0])))]
    settled = check(model, evidence_of(model, facts), 30)
    assert settled.left_out == pytest.approx(plain.left_out, rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_bound_shrinks_with_more_sets(seed: int) -> None:
    """Tests that keeping more sets never loosens the bound, and all of them closes it."""
    model = made_model(Shape(causes=10, axis=False, seed=seed % 4))
    facts = made_facts(model, np.random.default_rng(seed), 5)
    evidence = evidence_of(model, facts)
    bounds = [believe(model, evidence, size).left_out for size in (15, 40, 120, 400, 2000)]
    assert (np.diff(bounds) <= ROUNDING).all()
    assert bounds[-1] < 1e-6


def test_bound_is_tight_without_remedies() -> None:
    """Tests that for facts that are sums of products the bound is near the truth."""
    model = made_model(Shape(causes=10, seed=2))
    told: list[Coded] = [
        Reported(3),
        *(Answer(check, check % 2, check % 2, 0) for check in range(5)),
    ]
    evidence = evidence_of(model, [Fact("told", one) for one in told])
    belief = believe(model, evidence, 40)
    true = left_out_mass(whole(model, evidence), belief.rows.sets)
    assert true <= belief.left_out + ROUNDING
    assert belief.left_out < 2.0 * true + 1e-6


def test_shipped_packs_leave_little_out(shipped: LoadedPack) -> None:
    """Tests that with 5000 sets a first complaint leaves out less than one percent."""
    for condition in range(0, len(shipped.model.names.conditions), 4):
        evidence = evidence_of(shipped.model, [Fact("reported", Reported(condition))])
        assert 0.0 < believe(shipped.model, evidence, 5000).left_out < 0.01
