"""Tests of which sets are kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_facts import made_facts
from made_models import Shape, every_set, made_model
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Answer, Evidence
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.pack.fault_model import Check, FaultModel, Finding
from tubside.pack.loading import LoadedPack


def test_sets_are_distinct_and_hold_the_healthy(any_pack: LoadedPack) -> None:
    """Tests that no set is kept twice, and that both ways of no fault are kept.

    A few less than asked for are left where some sets can live on no construction.
    """
    sets = grow(any_pack.model, Evidence(), 700)
    fault = sets.members[sets.healthy < 0]
    assert len(np.unique(fault, axis=0)) == len(fault)
    assert fault.any(axis=1).all()
    assert sorted(sets.healthy[sets.healthy >= 0].tolist()) == [0, 1]
    assert 650 <= len(sets) <= 702


@pytest.mark.parametrize("seed", range(6))
def test_kept_sets_are_the_heaviest(seed: int) -> None:
    """Tests that 60 sets of 512 hold nearly as much as the 60 heaviest would."""
    model = made_model(Shape(causes=9, seed=seed))
    evidence = evidence_of(model, made_facts(model, np.random.default_rng(seed)))
    everything = every_set(9)
    full = believe_sets(model, evidence, everything, bounded=False)
    mass = np.zeros(len(everything))
    np.add.at(mass, full.rows.owner, full.probability)
    best = np.sort(mass)[::-1][:60].sum()
    kept = {row.tobytes() for row in grow(model, evidence, 60).members}
    found = sum(p for row, p in zip(everything.members, mass, strict=True) if row.tobytes() in kept)
    assert found > best - 5e-3


def three_signs() -> FaultModel:
    """Return a model in which three findings each speak for one cause alone."""
    model = made_model(Shape(causes=8, axis=False, leads=False, findings=0, seed=5))
    healthy = np.array([1e-6, 1.0 - 1e-6])
    findings = tuple(
        Finding(healthy, np.array([cause]), np.array([[0.99, 0.01]]), True, False)
        for cause in (1, 4, 6)
    )
    look = Check(0, -1, 1.0, True, True, (0, 1), (1e-6, 1e-6), -1, ())
    checks = tuple(replace(look, finding=number) for number in range(3))
    return replace(model, findings=findings, checks=checks)


def test_three_causes_are_found_where_three_findings_say_so() -> None:
    """Tests that sets are not cut by size: a triple is reached through its parts."""
    model = three_signs()
    evidence = Evidence(answers=tuple(Answer(number, 0, 1, 0) for number in range(3)))
    sets = grow(model, evidence, 60)
    belief = believe_sets(model, evidence, sets)
    triple = np.isin(np.arange(8), (1, 4, 6))
    top = belief.rows.sets.members[belief.probability.argmax()]
    assert top.tolist() == triple.tolist()


def test_small_models_are_kept_whole() -> None:
    """Tests that with room for all sets, all sets that matter are kept."""
    model = made_model(Shape(causes=5, axis=False, seed=5))
    assert len(grow(model, Evidence(), 500)) == 2**5 + 1
