"""Tests of the weight of evidence, and of which facts disagree."""

from __future__ import annotations

import numpy as np
import pytest

from made_facts import made_facts
from made_models import Shape, every_set, made_model
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Answer
from tubside.diagnosis.facts import Age, Fact, HowOften, Reported, Settled, evidence_of
from tubside.diagnosis.why import fewest_that_disagree, weigh
from tubside.pack.fault_model import FaultModel, Floats

BELT, DIRECT = np.array([1.0, 0.0]), np.array([0.0, 1.0])


def odds_db(chance: Floats) -> Floats:
    """Return odds in decibans."""
    return np.asarray(10.0 * np.log10(chance / (1.0 - chance)))


@pytest.mark.parametrize("seed", range(5))
def test_weights_add_up(seed: int) -> None:
    """Tests that the weights of all facts are the whole change of the odds."""
    model = made_model(Shape(causes=6, seed=seed, axis=False))
    facts = made_facts(model, np.random.default_rng(seed))
    sets = every_set(6)
    weighed = weigh(model, facts, sets)
    before = believe_sets(model, evidence_of(model, ()), sets, bounded=False)
    after = believe_sets(model, evidence_of(model, facts), sets, bounded=False)
    total = sum((w.weight_db for w in weighed), np.zeros(6))
    assert total == pytest.approx(odds_db(after.at_call()) - odds_db(before.at_call()), abs=1e-9)
    assert sum(w.log_expected for w in weighed) == pytest.approx(
        after.log_evidence - before.log_evidence, abs=1e-9
    )
    assert [w.fact for w in weighed] == facts


def test_weight_by_hand(small_model: FaultModel) -> None:
    """Tests ten times the log of how often the odds of a cause grow by one look."""
    check = small_model.names.checks.index("taps-open")
    fact = Fact("tap shut", Answer(check, 0, 1, 0))
    sets = every_set(small_model.n_causes)
    (weighed,) = weigh(small_model, [fact], sets)
    tap = small_model.names.causes.index("tap-closed")
    shut = 0.95 * 0.98 + 0.05 * 0.02
    open_ = 0.01 * 0.98 + 0.99 * 0.02
    assert weighed.weight_db[tap] == pytest.approx(10.0 * np.log10(shut / open_), abs=1e-9)


def test_fewest_that_disagree_are_named(small_model: FaultModel) -> None:
    """Tests that of seven facts the two that contradict each other are found."""
    facts = [
        Fact("reported", Reported(3)),
        Fact("belt", Settled(0, BELT)),
        Fact("age", Age(6.0)),
        Fact("water stands", Answer(0, 0, 0, 0)),
        Fact("no belt", Settled(0, DIRECT)),
        Fact("often", HowOften(1)),
        Fact("bent", Answer(1, 0, 1, 0)),
    ]
    clash = fewest_that_disagree(small_model, facts)
    assert [fact.label for fact in clash] == ["belt", "no belt"]


def test_three_facts_may_disagree_where_no_two_do() -> None:
    """Tests settled variants of which any two leave one construction, all three none."""
    model = made_model(Shape(causes=5, seed=1))
    facts = [
        Fact("not a", Settled(0, np.array([0.0, 1.0, 1.0]))),
        Fact("age", Age(3.0)),
        Fact("not b", Settled(0, np.array([1.0, 0.0, 1.0]))),
        Fact("not c", Settled(0, np.array([1.0, 1.0, 0.0]))),
    ]
    assert [f.label for f in fewest_that_disagree(model, facts)] == ["not a", "not b", "not c"]
