"""Tests of what may be done now, and what it costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import COSTS, Shape, every_set, made_model
from tiny_models import at_the_machine, one_fault
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Answer, Evidence
from tubside.diagnosis.facts import Fact, Settled, evidence_of
from tubside.diagnosis.situation import (
    applies,
    check_minutes,
    may_check,
    may_remedy,
    minute_cost,
    remedy_cost,
    scrap_cost,
    stop_cost,
    values_believed,
    values_if_there,
)
from tubside.pack.fault_model import FaultModel

MODEL = made_model(Shape(causes=6, findings=8, remedies=6, seed=3))


def test_minutes_count_covers_that_are_shut() -> None:
    """Tests that a cover costs its minutes once, until it is open."""
    behind = next(k for k, check in enumerate(MODEL.checks) if check.cover == 0)
    check = MODEL.checks[behind]
    shut, opened = at_the_machine(MODEL), at_the_machine(MODEL, open_covers=frozenset({0}))
    assert check_minutes(MODEL, check, shut) == pytest.approx(check.minutes + 6.0)
    assert check_minutes(MODEL, check, opened) == pytest.approx(check.minutes)


def test_remedy_costs_minutes_parts_and_perhaps_a_trip() -> None:
    """Tests a remedy with a part: aboard it costs its price, else a second trip and days."""
    number, remedy = next((k, r) for k, r in enumerate(MODEL.remedies) if r.parts)
    here = at_the_machine(MODEL)
    minutes = remedy.minutes + remedy.rerun_minutes + (6.0 if remedy.cover == 0 else 0.0)
    price = float(MODEL.part_price[list(remedy.parts)].sum())
    assert remedy_cost(MODEL, remedy, here) == pytest.approx(minutes + price)
    without = replace(here, aboard=np.zeros(2, dtype=bool))
    trip = COSTS.second_visit + COSTS.waiting_day * COSTS.part_wait_days
    assert remedy_cost(MODEL, remedy, without) == pytest.approx(minutes + price + trip)
    assert number >= 0


def test_customers_minutes_count_by_phone() -> None:
    """Tests that on the phone two people's minutes are spent."""
    assert minute_cost(MODEL, on_site=True) == 1.0
    assert minute_cost(MODEL, on_site=False) == pytest.approx(1.3)


def test_who_may_look() -> None:
    """Tests by phone only what customers may, on site everything, nothing twice."""
    site, phone = at_the_machine(MODEL), at_the_machine(MODEL, on_site=False)
    by_phone = [may_check(phone, k, c) for k, c in enumerate(MODEL.checks)]
    assert by_phone == [c.phone for c in MODEL.checks]
    assert all(may_check(site, k, c) for k, c in enumerate(MODEL.checks))
    asked = replace(phone, answered=frozenset({(0, 0)}))
    assert not may_check(asked, 0, MODEL.checks[0])
    assert may_check(replace(asked, on_site=True), 0, MODEL.checks[0])
    assert not may_check(replace(site, answered=frozenset({(0, 1)})), 0, MODEL.checks[0])
    refused = replace(phone, customer_checks=np.zeros(len(MODEL.checks), dtype=bool))
    assert not any(may_check(refused, k, c) for k, c in enumerate(MODEL.checks))


def test_question_the_customer_answered_is_not_asked_again_on_site() -> None:
    """Tests that what can only be asked is no look for the technician."""
    question = replace(MODEL.checks[0], site=False)
    site = at_the_machine(MODEL)
    assert may_check(site, 0, question)
    assert not may_check(replace(site, answered=frozenset({(0, 0)})), 0, question)


def test_who_may_do_a_remedy() -> None:
    """Tests by phone only customers' remedies that are allowed, each once by the same hands."""
    site, phone = at_the_machine(MODEL), at_the_machine(MODEL, on_site=False)
    assert [may_remedy(phone, k, r) for k, r in enumerate(MODEL.remedies)] == [
        r.phone for r in MODEL.remedies
    ]
    assert all(may_remedy(site, k, r) for k, r in enumerate(MODEL.remedies))
    tried = frozenset({(0, 0)})
    assert not may_remedy(replace(phone, tried=tried), 0, MODEL.remedies[0])
    assert may_remedy(replace(site, tried=tried), 0, MODEL.remedies[0])
    assert not may_remedy(replace(site, tried=frozenset({(0, 1)})), 0, MODEL.remedies[0])


def test_new_machine_is_worth_its_price() -> None:
    """Tests that ending the job costs a replacement at age 0, and less as life is used up."""
    costs = [scrap_cost(MODEL, float(age)) for age in range(0, 40, 3)]
    assert costs[0] == pytest.approx(COSTS.replacement + COSTS.disposal)
    assert (np.diff(costs) < 0.0).all()
    assert costs[-1] > COSTS.disposal


def test_share_of_life_left_by_hand() -> None:
    """Tests shape 1: a life without wear has always the same mean left."""
    even = replace(MODEL, costs=replace(COSTS, life_shape=1.0))
    assert scrap_cost(even, 10.0) == pytest.approx(scrap_cost(even, 0.0), rel=0.01)


def test_cheapest_ending() -> None:
    """Tests that young machines go back, and that any machine can be replaced."""
    assert stop_cost(MODEL, 1.0) == 60.0
    assert stop_cost(MODEL, 2.5) == scrap_cost(MODEL, 2.5)
    assert stop_cost(MODEL, None) == scrap_cost(MODEL, None)
    assert stop_cost(replace(MODEL, stops=()), 1.0) == scrap_cost(MODEL, 1.0)


def test_what_is_believed_of_a_variant(small_model: FaultModel) -> None:
    """Tests that a worn belt means a belt drive, for the machine and for the remedy."""
    names = small_model.names
    cause = names.causes.index("belt-worn")
    assert values_believed(small_model, Evidence(), one_fault(small_model))[0] == pytest.approx(
        believed_share(small_model, Evidence()), abs=1e-12
    )
    looked = Evidence(answers=(Answer(names.checks.index("belt-look"), 0, 1, 0),))
    needs = small_model.remedies[names.remedies.index("replace-belt")].needs
    sets = every_set(small_model.n_causes)
    belief = believe_sets(small_model, looked, sets, bounded=False)
    assert float(applies(values_believed(small_model, looked, belief), needs)) > 0.9
    there = applies(values_if_there(small_model, Evidence()), needs)
    assert there[cause] == pytest.approx(1.0)
    assert np.delete(there, cause) == pytest.approx(np.full(9, 0.7))


def believed_share(model: FaultModel, evidence: Evidence) -> list[float]:
    """Return P(belt drive), P(direct) over single causes: certain with the belt's cause."""
    chance = one_fault(model, evidence).probability
    belt = float(chance[model.names.causes.index("belt-worn")])
    return [belt + (1.0 - belt) * 0.7, (1.0 - belt) * 0.3]


def test_settled_variant_decides_what_applies(small_model: FaultModel) -> None:
    """Tests that a direct drive leaves no belt to replace, without dividing by nothing."""
    settled = evidence_of(small_model, [Fact("direct", Settled(0, np.array([0.0, 1.0])))])
    names = small_model.names
    needs = small_model.remedies[names.remedies.index("replace-belt")].needs
    assert applies(values_if_there(small_model, settled), needs).max() == 0.0
    belief = believe_sets(small_model, settled, every_set(10), bounded=False)
    assert float(applies(values_believed(small_model, settled, belief), needs)) == 0.0


def test_step_without_needs_always_applies() -> None:
    """Tests that no needs, or a model without variants, is certain."""
    plain = made_model(Shape(causes=5, axis=False, leads=False))
    assert float(applies(values_believed(plain, Evidence(), one_fault(plain)), ())) == 1.0
    assert float(applies(values_believed(MODEL, Evidence(), one_fault(MODEL)), ())) == 1.0
