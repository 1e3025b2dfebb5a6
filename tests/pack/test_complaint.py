"""Tests of how a call is reported, against writing out which conditions are on."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tiny_models import rows_of
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.facts import Fact, Reported, evidence_of
from tubside.diagnosis.hypotheses import healthy_sets, joined, single_sets
from tubside.pack.complaint import (
    first_condition,
    fit_first,
    off_chances,
    weights_from_first,
)
from tubside.pack.fault_model import FaultModel, Floats
from tubside.pack.loading import LoadedPack

TOLERANCE = 0.03


def plain_first(model: FaultModel, members: list[int]) -> Floats:
    """Return P(first condition | set) by summing over every pattern of on and off."""
    told = model.complaint
    c = len(told.leak)
    on = np.array(
        [1 - (1 - told.leak[k]) * np.prod([1 - told.q[i, k] for i in members]) for k in range(c)]
    )
    first = np.zeros(c)
    for pattern in product((0, 1), repeat=c):
        chance = np.prod([on[k] if yes else 1 - on[k] for k, yes in enumerate(pattern)])
        if any(pattern):
            first[pattern.index(1)] += chance
    return np.asarray(first / first.sum())


def test_first_condition_of_every_set() -> None:
    """Tests P(first | S) / P(some | S) against all patterns of conditions."""
    model = made_model(Shape(causes=4, conditions=6, seed=1))
    sets = every_set(4).members[2:]
    found = first_condition(off_chances(sets, model.complaint.q, model.complaint.leak))
    wanted = [plain_first(model, members) for members in rows_of(sets)]
    assert found == pytest.approx(np.array(wanted), abs=1e-13)


def test_rows_sum_to_one(any_pack: LoadedPack) -> None:
    """Tests that every row of every table of the complaint is a distribution."""
    told = any_pack.model.complaint
    for table in (told.said, told.healthy, told.at_stage, told.fit, told.table):
        assert table.min() >= 0.0
        assert table.sum(axis=1) == pytest.approx(np.ones(len(table)), abs=1e-12)


def test_model_says_what_the_pack_says(any_pack: LoadedPack) -> None:
    """Tests that P(said | cause alone) is within 0.03 of the table, for every cause."""
    model = any_pack.model
    said = np.array(
        [plain_said(model, cause) for cause in range(model.n_causes)],
    )
    assert said == pytest.approx(model.complaint.fit, abs=1e-12)
    off = np.abs(said - model.complaint.table)
    far = {
        f"{model.names.causes[i]} said as {model.names.conditions[k]}": round(float(off[i, k]), 4)
        for i, k in zip(*np.where(off > TOLERANCE), strict=True)
    }
    assert far == {}, f"largest residual {off.max():.4f}"


def plain_said(model: FaultModel, cause: int) -> Floats:
    """Return P(said | this cause alone), going down the order one condition at a time."""
    told = model.complaint
    first, nothing_yet = [], 1.0
    for k, leak in enumerate(told.leak):
        on = 1.0 - (1.0 - leak) * (1.0 - told.q[cause, k])
        first.append(nothing_yet * on)
        nothing_yet *= 1.0 - on
    return np.asarray(np.array(first) / (1.0 - nothing_yet) @ told.said)


def test_every_cause_is_reached_from_every_complaint(any_pack: LoadedPack) -> None:
    """Tests that no first complaint takes a cause's probability to zero."""
    model = any_pack.model
    sets = joined([healthy_sets(model.n_causes), single_sets(model.n_causes)])
    for condition, name in enumerate(model.names.conditions):
        evidence = evidence_of(model, [Fact(name, Reported(condition))])
        belief = believe_sets(model, evidence, sets, bounded=False)
        assert belief.at_call().min() > 1e-9, name
        assert belief.healthy().min() > 1e-9, name


def test_last_condition_reaches_causes_of_the_first_stage(small_model: FaultModel) -> None:
    """Tests that a dead socket stays possible when "does not spin" was reported."""
    names = small_model.names
    last = len(names.conditions) - 1
    evidence = evidence_of(small_model, [Fact("last", Reported(last))])
    belief = believe_sets(small_model, evidence, every_set(small_model.n_causes))
    chance = belief.at_call()[names.causes.index("socket-worn")]
    assert 1e-6 < chance < 0.02


def test_mixture_is_recovered() -> None:
    """Tests that fitting finds the first conditions behind words that come from some."""
    rng = np.random.default_rng(0)
    said = rng.dirichlet(np.ones(5), size=5) * 0.3 + 0.7 * np.eye(5)
    true = rng.dirichlet(np.ones(5), size=8)
    assert fit_first(true @ said, said) == pytest.approx(true, abs=1e-6)


def test_weights_reproduce_the_first_condition() -> None:
    """Tests that q going down the order gives back the wanted first conditions."""
    rng = np.random.default_rng(1)
    first = rng.dirichlet(np.full(6, 3.0), size=5)
    leak = np.full(6, 1e-4)
    q = weights_from_first(first, leak, 0.9)
    found = first_condition(off_chances(np.eye(5, dtype=bool), q, leak))
    assert found == pytest.approx(first, abs=1e-9)


def test_weights_stay_chances_where_the_leak_is_larger() -> None:
    """Tests that a condition rarer than its leak gets weight 0, and none reaches 1."""
    first = np.array([[1e-5, 0.99998, 1e-5]])
    q = weights_from_first(first, np.full(3, 0.01), 1.0)
    assert q[0, 0] == 0.0
    assert q.max() < 1.0
