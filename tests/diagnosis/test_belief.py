"""Tests of the belief: what must hold whatever the facts are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from believing import facts_of, over_sets
from made_facts import made_facts, outcomes
from made_models import Shape, every_set, made_model, permuted
from tubside.diagnosis.belief import (
    Belief,
    believe,
    heaviest_rows,
    normalised,
    update,
)
from tubside.diagnosis.evidence import FAILS, Answer, Evidence, Look, Symptom, Treatment
from tubside.diagnosis.facts import (
    Coded,
    Fact,
    HowOften,
    Reported,
    Settled,
    SymptomSaid,
    evidence_of,
)
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.diagnosis.likelihood import first_table
from tubside.diagnosis.reruns import how_often, reruns
from tubside.errors import FactsDisagreeError
from tubside.pack.fault_model import FaultModel, Floats, Ints
from tubside.pack.loading import LoadedPack
from tubside.pack.reading import PackSource

SEED = st.integers(0, 2**31)


def averaged_over_complaints(model: FaultModel, sets: Sets) -> Floats:
    """Return the posterior of each set, averaged over what may be reported first."""
    before = over_sets(model, sets)
    mean, whole = np.zeros(len(sets)), 0.0
    for condition in range(len(model.names.conditions)):
        after = over_sets(model, sets, Reported(condition))
        chance = float(np.exp(after.log_evidence - before.log_evidence))
        mean += chance * after.probability
        whole += chance
    assert whole == pytest.approx(1.0, abs=1e-12)
    return mean


def test_complaints_on_average_change_nothing(
    small_model: FaultModel, small_pack: PackSource
) -> None:
    """Tests that posteriors averaged over predicted complaints give the weights back."""
    sets = every_set(small_model.n_causes)
    mean = averaged_over_complaints(small_model, sets)
    assert mean == pytest.approx(over_sets(small_model, sets).probability, abs=1e-12)
    odds = small_model.prior.odds * sets.members
    main = mean @ (odds / np.maximum(odds.sum(axis=1, keepdims=True), 1e-300))
    weights = np.array([cause.weight for cause in small_pack.pack.causes.values()]) / 1000.0
    assert main == pytest.approx(weights, rel=1e-9)


def test_complaints_on_average_change_nothing_when_shipped(shipped: LoadedPack) -> None:
    """Tests the same over kept sets: the kept prior comes back, set by set."""
    model = shipped.model
    sets = grow(model, Evidence(), 1500)
    mean = averaged_over_complaints(model, sets)
    assert mean == pytest.approx(over_sets(model, sets).probability, abs=1e-9)


def untouched(model: FaultModel, cause: int) -> list[int]:
    """Return the checks whose finding a cause does not alter."""
    return [
        number
        for number, check in enumerate(model.checks)
        if check.finding >= 0 and cause not in model.findings[check.finding].touched
    ]


def ratio_with(belief: Belief, cause: int) -> Floats:
    """Return P(S and the cause) / P(S) for every set without it that holds something."""
    members = belief.rows.sets.members
    place = {row.tobytes(): number for number, row in enumerate(members)}
    ratios = []
    for number, row in enumerate(members):
        if row.any() and not row[cause]:
            larger = row.copy()
            larger[cause] = True
            p = belief.probability
            ratios.append(p[place[larger.tobytes()]] / p[number])
    return np.array(ratios)


@pytest.mark.parametrize("seed", range(4))
def test_cause_that_cannot_show_keeps_its_odds(seed: int) -> None:
    """Tests that facts a cause has no part in leave P(S and it) / P(S) at its odds.

    That holds for facts with no division in them. The first complaint is divided by
    P(some complaint | S), which a further cause raises in every stage, so there the
    ratio moves rightly: who could have rung for more reasons rang for this one less.
    """
    model = made_model(Shape(causes=7, axis=False, leads=False, findings=9, seed=seed))
    weak = [[model.findings[c].needs_fault for c in untouched(model, i)] for i in range(7)]
    cause = max(range(7), key=lambda i: (any(weak[i]), len(weak[i])))
    rng = np.random.default_rng(seed)
    answers = [
        Answer(check, int(rng.integers(outcomes(model, check))), int(rng.integers(2)), 0)
        for check in untouched(model, cause)
    ]
    assert len(answers) >= 4
    assert any(weak[cause])
    ratio = ratio_with(over_sets(model, every_set(7), *answers), cause)
    assert ratio == pytest.approx(np.full(len(ratio), model.prior.odds[cause]), rel=1e-12)
    divided = ratio_with(over_sets(model, every_set(7), *answers, Reported(0)), cause)
    assert np.ptp(divided) > 1e-3


def absolute_first(model: FaultModel, sets: Sets) -> Floats:
    """Return P(first = c | S), not divided by P(some complaint | S)."""
    first, off = first_table(model, sets)
    return np.asarray(first * (1.0 - off.prod(axis=1, keepdims=True)))


def failed_again(model: FaultModel, evidence: Evidence, sets: Sets) -> Floats:
    """Return P(the re-run fails | S, first) when the remedy cleared nothing."""
    rows = Rows(sets, (sets.members,) * 2, np.zeros(len(sets)), np.arange(len(sets)))
    return reruns(model, evidence, rows)


def often(model: FaultModel, sets: Sets) -> Floats:
    """Return P("sometimes" | S, first)."""
    return how_often(model, sets, 1)


def test_later_cause_leaves_an_earlier_stop_alone() -> None:
    """Tests P(first = c | S) before its division, and all that follows from c.

    The cause raises conditions only after c; then neither the chance that c comes
    first, nor that of failing again, nor how often, depends on it. (The division by
    P(some complaint | S) does, and is left out here.)
    """
    model = made_model(Shape(causes=6, conditions=6, axis=False, leads=False, seed=8))
    q = model.complaint.q.copy()
    q[2, :4] = 0.0
    model = replace(model, complaint=replace(model.complaint, q=q))
    sets = every_set(6)
    without = np.flatnonzero(~sets.members[:, 2] & sets.members.any(axis=1))
    larger = sets.members[without].copy()
    larger[:, 2] = True
    more = Sets(larger, sets.healthy[without])
    less = Sets(sets.members[without], sets.healthy[without])
    evidence = Evidence(treatments=(Treatment(np.eye(6)[0] * 0.7, FAILS),))
    tables = (absolute_first, lambda m, s: failed_again(m, evidence, s), often)
    for table in tables:
        assert table(model, more)[:, :4] == pytest.approx(table(model, less)[:, :4], rel=1e-12)
    assert np.abs(absolute_first(model, more) - absolute_first(model, less))[:, 4:].max() > 1e-3


@settings(max_examples=30, deadline=None)
@given(seed=SEED)
def test_order_of_answers_does_not_matter(seed: int) -> None:
    """Tests that answers on different findings commute, with each other and with the call."""
    model = made_model(Shape(causes=6, seed=seed % 5))
    rng = np.random.default_rng(seed)
    facts: list[Coded] = [
        Answer(check, int(rng.integers(outcomes(model, check))), int(rng.integers(2)), 0)
        for check in rng.permutation(len(model.checks))[:5]
    ]
    facts += [HowOften(1), SymptomSaid(Symptom(3, 0.92, 0.06)), Reported(2)]
    shuffled = [facts[i] for i in rng.permutation(len(facts))]
    sets = every_set(6)
    one, other = over_sets(model, sets, *facts), over_sets(model, sets, *shuffled)
    assert one.probability == pytest.approx(other.probability, abs=1e-13)


@settings(max_examples=30, deadline=None)
@given(seed=SEED)
def test_order_of_causes_and_findings_does_not_matter(seed: int) -> None:
    """Tests that numbering causes and findings otherwise gives the same chances."""
    model = made_model(Shape(causes=6, seed=seed % 7))
    rng = np.random.default_rng(seed)
    facts = made_facts(model, rng)
    order = rng.permutation(6)
    turned = permuted(model, order)
    count = len(model.findings)
    turned = replace(
        turned,
        findings=turned.findings[::-1],
        checks=tuple(
            replace(c, finding=count - 1 - c.finding) if c.finding >= 0 else c
            for c in turned.checks
        ),
    )
    other_facts = [Fact(f.label, _turned(f.coded, order)) for f in facts]
    belief = believe(model, evidence_of(model, facts), 64)
    other = believe(turned, evidence_of(turned, other_facts), 64)
    assert other.at_call() == pytest.approx(belief.at_call()[order], abs=1e-12)
    assert other.now() == pytest.approx(belief.now()[order], abs=1e-12)
    assert other.healthy() == pytest.approx(belief.healthy(), abs=1e-12)


def _turned(coded: Coded, order: Ints) -> Coded:
    return replace(coded, clears=coded.clears[order]) if isinstance(coded, Treatment) else coded


@settings(max_examples=60, deadline=None)
@given(seed=SEED)
def test_belief_is_a_distribution(seed: int) -> None:
    """Tests, over random facts, that chances are finite, not negative, and sum to one."""
    model = made_model(Shape(causes=9, seed=seed % 11, for_health=bool(seed % 2)))
    facts = made_facts(model, np.random.default_rng(seed), 12)
    belief = believe(model, evidence_of(model, facts), 150)
    assert np.isfinite(belief.probability).all()
    assert belief.probability.min() >= 0.0
    assert belief.probability.sum() == pytest.approx(1.0, abs=1e-12)
    assert np.isfinite(belief.log_evidence)
    assert 0.0 <= belief.left_out <= 1.0


@settings(max_examples=25, deadline=None)
@given(seed=SEED)
def test_belief_of_the_small_pack_is_a_distribution(small_model: FaultModel, seed: int) -> None:
    """Tests the same on the small pack, with remedies that clear two causes."""
    facts = made_facts(small_model, np.random.default_rng(seed), 12)
    belief = believe(small_model, evidence_of(small_model, facts), 300)
    assert belief.probability.sum() == pytest.approx(1.0, abs=1e-12)
    assert np.isfinite(belief.now()).all()


def test_facts_that_cannot_all_be_true_are_refused(small_model: FaultModel) -> None:
    """Tests that two settled variants raise, and never give chances that are no numbers."""
    clash = facts_of(
        Reported(3), Settled(0, np.array([1.0, 0.0])), Settled(0, np.array([0.0, 1.0]))
    )
    with pytest.raises(FactsDisagreeError):
        believe(small_model, evidence_of(small_model, clash), 200)


def test_settled_variant_rules_its_causes_out(small_model: FaultModel) -> None:
    """Tests that a direct drive leaves no chance to a belt, alone or with others."""
    facts = facts_of(Reported(5), Settled(0, np.array([0.0, 1.0])))
    belief = believe(small_model, evidence_of(small_model, facts), 2000)
    assert belief.at_call()[small_model.names.causes.index("belt-worn")] == 0.0
    assert belief.probability.sum() == pytest.approx(1.0, abs=1e-12)


def test_update_agrees_with_starting_over(small_model: FaultModel) -> None:
    """Tests that multiplying one more look in is the belief with that fact."""
    sets = every_set(small_model.n_causes)
    start = over_sets(small_model, sets, Reported(3))
    likelihood = np.array([0.98, 0.02])
    moved = update(small_model, start, Look(0, 0, 0, likelihood))
    whole = over_sets(small_model, sets, Reported(3), Answer(0, 0, 1, 0))
    assert moved.probability == pytest.approx(whole.probability, abs=1e-13)
    assert moved.log_evidence == pytest.approx(whole.log_evidence, abs=1e-12)


def test_heaviest_rows_are_the_heaviest(small_model: FaultModel) -> None:
    """Tests that a belief cut to its heaviest rows keeps their ratios and sums to one."""
    remedy = Treatment(small_model.remedies[0].clears[1], FAILS)
    belief = over_sets(small_model, every_set(10), Reported(3), remedy)
    few = heaviest_rows(belief, 25)
    top = np.sort(belief.probability)[::-1][:25]
    assert few.probability == pytest.approx(top / top.sum(), abs=1e-14)
    assert len(few.rows.now) == len(few.rows.sets) == 25


def test_nothing_possible_is_refused() -> None:
    """Tests that no finite weight at all raises instead of dividing by nothing."""
    with pytest.raises(FactsDisagreeError):
        normalised(np.array([-np.inf, -np.inf]))
    weight, total = normalised(np.array([-1e4, -1e4 + np.log(3.0), -np.inf]))
    assert weight == pytest.approx([0.25, 0.75, 0.0])
    assert total == pytest.approx(-1e4 + np.log(4.0))
