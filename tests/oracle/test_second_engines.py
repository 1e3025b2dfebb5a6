"""Tests of the second engines against plain enumeration and printed figures."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tubside.diagnosis import worth
from tubside.diagnosis.worth import Floats

if TYPE_CHECKING:
    from tests.oracle.independent import TwoLayers

gum = pytest.importorskip("pyagrum", reason="pyagrum is not installed: no engine to compare with")
one_node = import_module("one_node")
independent = import_module("independent")
quickscore = import_module("quickscore")
wildcatter = import_module("wildcatter")


def rows(rng: np.random.Generator, n: int, k: int) -> Floats:
    """Return n random distributions over k outcomes."""
    return rng.dirichlet(np.ones(k), size=n)


def layers(seed: int, n: int, c: int) -> TwoLayers:
    """Return a random two-layer model in which some weights are nil."""
    rng = np.random.default_rng(seed)
    weights = rng.uniform(0.1, 0.95, (n, c)) * (rng.random((n, c)) < 0.7)
    leak = rng.uniform(0.001, 0.1, c)
    made: TwoLayers = independent.TwoLayers(rng.uniform(0.01, 0.4, n), weights, leak)
    return made


@pytest.mark.parametrize("seed", range(5))
def test_one_node_is_bayes_rule(seed: int) -> None:
    """Tests that the one-node net multiplies and normalises, seen or soft."""
    rng = np.random.default_rng(seed)
    prior = rng.dirichlet(np.ones(7))
    tables = [rows(rng, 7, k) for k in (2, 3, 4)]
    likelihood = rng.random(4)
    found = one_node.posterior(prior, tables, [1, 2], soft=[likelihood])
    expected = prior * tables[0][:, 1] * tables[1][:, 2] * (tables[2] @ likelihood)
    assert found == pytest.approx(expected / expected.sum(), abs=1e-12)
    step = worth.posterior(worth.posterior(prior, tables[0], 1), tables[1], 2)
    assert one_node.posterior(prior, tables[:2], [1, 2]) == pytest.approx(step, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_latent_reports_are_combined_before_summing(seed: int) -> None:
    """Tests that reports of one latent state multiply inside the sum over its states."""
    rng = np.random.default_rng(seed)
    prior = rng.dirichlet(np.ones(6))
    states = [rows(rng, 6, 3), rows(rng, 6, 2)]
    said = [rows(rng, 3, 4), rows(rng, 3, 2), rows(rng, 2, 3)]
    likelihood = rng.random(3)
    latents = [
        (states[0], [(said[0], 3), (said[1], 0)]),
        (states[1], [(said[2], likelihood)]),
    ]
    expected = prior * (states[0] @ (said[0][:, 3] * said[1][:, 0]))
    expected = expected * (states[1] @ (said[2] @ likelihood))
    found = one_node.posterior_latent(prior, latents)
    assert found == pytest.approx(expected / expected.sum(), abs=1e-12)


def test_many_equal_reports_stay_below_knowing() -> None:
    """Tests that a hundred equal reports of a latent state end at knowing the state."""
    prior = np.array([0.5, 0.5])
    states = np.array([[0.9, 0.1], [0.3, 0.7]])
    report = (np.array([[0.8, 0.2], [0.3, 0.7]]), 0)
    found = one_node.posterior_latent(prior, [(states, [report] * 100)])
    assert found == pytest.approx(worth.posterior(prior, states, 0), abs=1e-9)


def test_two_kinds_of_noisy_or() -> None:
    """Tests the trap: pyAgrum's default takes the leak as part of each weight."""
    weights, leak = (0.6, 0.8), 0.1

    def filled(kind: str) -> Floats:
        net = gum.BayesNet()
        for name in ("a", "b"):
            net.add(gum.LabelizedVariable(name, "", 2))
        getattr(net, kind)(gum.LabelizedVariable("y", "", 2), leak)
        net.addWeightedArc("a", "y", weights[0])
        net.addWeightedArc("b", "y", weights[1])
        return np.array([net.cpt("y")[{"a": a, "b": b}][1] for a in (0, 1) for b in (0, 1)])

    assert filled("addNoisyORCompound") == pytest.approx([0.1, 0.8, 0.6, 0.911111], abs=1e-6)
    assert filled("addNoisyOR") == pytest.approx(filled("addNoisyORCompound"), abs=1e-12)
    assert filled("addNoisyORNet") == pytest.approx([0.1, 0.82, 0.64, 0.928], abs=1e-6)
    ours = independent.TwoLayers(np.zeros(2), np.array([[0.6], [0.8]]), np.array([0.1]))
    dark = independent.off(ours, independent.every_set(2))[:, 0]
    assert 1.0 - dark == pytest.approx(filled("addNoisyORNet"), abs=1e-6)


def enumerated(model: TwoLayers, seen: dict[str, int]) -> Floats:
    """Return P(set | conditions) by writing out all sets."""
    sets = independent.every_set(len(model.prior))
    prior = model.prior
    mass = np.where(sets, prior, 1.0 - prior).prod(axis=1)
    dark = independent.off(model, sets)
    for name, state in seen.items():
        column = dark[:, int(name[1:])]
        mass = mass * (1.0 - column if state else column)
    return np.asarray(mass / mass.sum())


@pytest.mark.parametrize("seed", range(4))
def test_three_ways_agree(seed: int) -> None:
    """Tests that junction tree, inclusion-exclusion and enumeration agree to 1e-9."""
    model = layers(seed, 6, 4)
    seen = {"y0": 1, "y1": 0, "y3": 1}
    net = independent.conditions_net(model)
    by_hand = enumerated(model, seen)
    assert independent.set_posteriors(net, seen) == pytest.approx(by_hand, abs=1e-9)
    marginal = by_hand @ independent.every_set(6)
    assert independent.cause_posteriors(net, seen) == pytest.approx(marginal, abs=1e-9)
    parts = (model.prior, model.weights, model.leak)
    assert quickscore.posteriors(*parts, [0, 3], [1]) == pytest.approx(marginal, abs=1e-9)


def test_fourteen_causes_are_within_reach() -> None:
    """Tests the largest size: 14 causes, every table explicit."""
    model = layers(9, 14, 3)
    net = independent.conditions_net(model)
    found = independent.cause_posteriors(net, {"y0": 1, "y1": 1, "y2": 0})
    parts = (model.prior, model.weights, model.leak)
    assert found == pytest.approx(quickscore.posteriors(*parts, [0, 1], [2]), abs=1e-9)
    with pytest.raises(ValueError, match="at most 14"):
        layers(9, 15, 1)


def test_first_complaint_is_divided_once() -> None:
    """Tests that averaging the posterior over predicted first complaints gives the prior back."""
    model = layers(3, 5, 4)
    net = independent.causes_net(model.prior)
    independent.add_first_complaint(net, model, np.full(4, 0.25))
    engine = gum.LazyPropagation(net)
    engine.makeInference()
    predicted = [engine.posterior("first")[c] for c in range(4)]
    average = sum(
        p * independent.set_posteriors(net, {"first": c}) for c, p in enumerate(predicted)
    )
    assert average == pytest.approx(enumerated(model, {}), abs=1e-9)


def test_wildcatter_as_a_diagram() -> None:
    """Tests that the LIMID engine and our sum both give 22.5 with the test."""
    assert wildcatter.best_value() == pytest.approx(22.5, abs=1e-9)


def test_many_hypotheses() -> None:
    """Tests that one node may hold as many hypotheses as the belief engine keeps."""
    rng = np.random.default_rng(0)
    prior, table = rng.dirichlet(np.ones(2000)), rows(rng, 2000, 3)
    found = one_node.posterior(prior, [table], [1])
    assert found == pytest.approx(worth.posterior(prior, table, 1), abs=1e-12)


def test_chest_clinic() -> None:
    """Tests the whole chest clinic net against printed 5.5, 48.9 and 37.1 % (Norsys help)."""
    net = independent.causes_net(np.array([0.01, 0.5]))  # x0 visit to Asia, x1 smoker
    for name, parents, chances in (
        ("tub", ["x0"], [0.01, 0.05]),
        ("lung", ["x1"], [0.01, 0.1]),
        ("bronc", ["x1"], [0.3, 0.6]),
        ("either", ["tub", "lung"], [0.0, 1.0, 1.0, 1.0]),
        ("xray", ["either"], [0.05, 0.98]),
        ("dysp", ["either", "bronc"], [0.1, 0.8, 0.7, 0.9]),
    ):
        yes = np.array(chances)
        independent.add_table(net, name, parents, np.column_stack([1.0 - yes, yes]))
    engine = gum.LazyPropagation(net)
    for evidence, printed in (({}, 0.055), ({"xray": 1}, 0.489), ({"xray": 1, "x0": 1}, 0.371)):
        engine.setEvidence(evidence)
        engine.makeInference()
        assert engine.posterior("lung")[1] == pytest.approx(printed, abs=5e-4)
