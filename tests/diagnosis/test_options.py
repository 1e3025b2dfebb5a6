"""Tests of the steps that are open, and what each does to a belief."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tiny_models import at_the_machine, one_fault, tiny_model
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Answer, Evidence, FirstComplaint, Treatment
from tubside.diagnosis.options import (
    fewer_rows,
    open_options,
    said_table,
    without_finding,
    without_remedy,
)
from tubside.diagnosis.situation import CANNOT_LOOK
from tubside.pack.fault_model import TECHNICIAN, FaultModel

MODEL = made_model(Shape(causes=6, findings=8, remedies=6, seed=3))


def test_answers_of_a_check_sum_to_one() -> None:
    """Tests that P(said | row) with "could not look" is a distribution, in every row."""
    belief = believe_sets(MODEL, Evidence(), every_set(6), bounded=False)
    options = open_options(MODEL, Evidence(), belief, at_the_machine(MODEL))
    assert len(options.checks) == len(MODEL.checks)
    for check in options.checks:
        assert check.said.sum(axis=1) == pytest.approx(np.ones(len(belief.probability)), abs=1e-12)
        assert check.said[:, -1] == pytest.approx(CANNOT_LOOK[TECHNICIAN], abs=1e-12)


def test_what_a_check_will_say_is_what_it_would_teach(small_model: FaultModel) -> None:
    """Tests that predicted answers, times what they teach, average to the belief now."""
    sets = every_set(small_model.n_causes)
    evidence = Evidence(FirstComplaint(np.ones(6), reported=(3,)))
    belief = believe_sets(small_model, evidence, sets, bounded=False)
    for number, check in enumerate(small_model.checks):
        said = said_table(small_model, evidence, belief, check, TECHNICIAN)
        for outcome in range(said.shape[1]):
            weight = belief.probability * said[:, outcome]
            answer = Answer(number, outcome, TECHNICIAN, 0)
            after = believe_sets(
                small_model, replace(evidence, answers=(answer,)), sets, bounded=False
            )
            assert after.probability == pytest.approx(weight / weight.sum(), abs=1e-12)


def test_second_observer_sees_the_state_the_first_reported(small_model: FaultModel) -> None:
    """Tests that predictions after a customer's answer start from the state it left."""
    sets = every_set(small_model.n_causes)
    told = Evidence(answers=(Answer(0, 0, 0, 0),))
    belief = believe_sets(small_model, told, sets, bounded=False)
    said = said_table(small_model, told, belief, small_model.checks[0], TECHNICIAN)
    for outcome in range(2):
        both = Evidence(answers=(*told.answers, Answer(0, outcome, TECHNICIAN, 0)))
        after = believe_sets(small_model, both, sets, bounded=False)
        weight = belief.probability * said[:, outcome]
        assert after.probability == pytest.approx(weight / weight.sum(), abs=1e-12)


def test_looks_before_a_remedy_do_not_foretell_those_after() -> None:
    """Tests that a remedy which touches a finding makes it open to any outcome again."""
    cause = int(MODEL.findings[0].touched[0])
    before = Evidence(answers=(Answer(0, 0, 0, 0),))
    sets = every_set(6)
    belief = believe_sets(MODEL, before, sets, bounded=False)
    seen = said_table(MODEL, before, belief, MODEL.checks[0], 0)
    after = replace(before, treatments=(Treatment(np.eye(6)[cause] * 1.0, None),))
    later = believe_sets(MODEL, after, sets, bounded=False)
    fresh = said_table(MODEL, after, later, MODEL.checks[0], 0)
    assert seen[0, 0] > 2.0 * fresh[0, 0]


def test_finding_the_technician_saw_is_closed() -> None:
    """Tests that no other check of the same finding is open after a technician's look."""
    two = replace(MODEL, checks=(*MODEL.checks, MODEL.checks[0]))
    belief = one_fault(two)
    situation = at_the_machine(two, answered=frozenset({(0, TECHNICIAN)}))
    options = open_options(two, Evidence(), belief, situation)
    assert not any(c.finding == MODEL.checks[0].finding for c in options.checks)


def test_remedy_for_a_variant_works_where_the_cause_lives(small_model: FaultModel) -> None:
    """Tests that replacing the belt clears a worn belt as often as the pack says."""
    names = small_model.names
    belief = one_fault(small_model)
    options = open_options(small_model, Evidence(), belief, at_the_machine(small_model))
    belt = next(r for r in options.remedies if names.remedies[r.index] == "replace-belt")
    assert belt.clears[names.causes.index("belt-worn")] == pytest.approx(0.97)


def test_remedy_used_up_clears_nothing_any_more() -> None:
    """Tests that options without a remedy have the costs of the others alone."""
    model = tiny_model(
        [0.4, 0.3, 0.2, 0.1],
        [(10.0, {0: 0.5, 1: 1.0}), (30.0, {0: 1.0, 2: 0.5})],
        [],
        ending=100.0,
    )
    options = open_options(model, Evidence(), one_fault(model), at_the_machine(model))
    assert options.own.cost == pytest.approx([10.0 + 0.5 * 30.0, 10.0, 80.0, 100.0])
    used = without_remedy(options, options.remedies[0], "remedy")
    assert used.own.cost == pytest.approx([30.0, 100.0, 80.0, 100.0])
    assert used.own.cost == pytest.approx(options.own_after.cost[0])
    assert [r.index for r in used.remedies] == [1]


def test_referral_is_used_up() -> None:
    """Tests that a referral taken once is not counted on again, and remedies stay."""
    belief = one_fault(MODEL)
    options = open_options(MODEL, Evidence(), belief, at_the_machine(MODEL))
    used = without_remedy(options, options.refers[0], "refer")
    assert used.refers == ()
    assert used.remedies == options.remedies
    assert (used.own.cost >= options.own.cost).all()


def test_look_closes_its_finding() -> None:
    """Tests that after a look in thought all checks of that finding are closed."""
    options = open_options(MODEL, Evidence(), one_fault(MODEL), at_the_machine(MODEL))
    later = without_finding(options, 2, 2)
    assert {c.index for c in options.checks} - {c.index for c in later.checks} == {2}
    axis = without_finding(options, -1, len(MODEL.checks) - 1)
    assert {c.index for c in options.checks} - {c.index for c in axis.checks} == {
        len(MODEL.checks) - 1
    }


def test_fewer_rows_keep_their_order() -> None:
    """Tests that options cut to some rows are the options of those rows."""
    belief = believe_sets(MODEL, Evidence(), every_set(6), bounded=False)
    options = open_options(MODEL, Evidence(), belief, at_the_machine(MODEL))
    keep = np.array([5, 2, 9])
    few = fewer_rows(options, keep)
    assert np.array_equal(few.member, options.member[keep])
    assert np.array_equal(few.shows, options.shows[keep])
    assert np.array_equal(few.checks[3].said, options.checks[3].said[keep])


def test_phone_has_the_visit_still_to_pay() -> None:
    """Tests visit costs, and that customers' steps alone are open by phone."""
    phone = at_the_machine(MODEL, on_site=False)
    options = open_options(MODEL, Evidence(), one_fault(MODEL), phone)
    assert options.visit_cost == MODEL.costs.visit
    assert all(MODEL.checks[c.index].phone for c in options.checks)
    assert all(MODEL.remedies[r.index].phone for r in options.remedies)
