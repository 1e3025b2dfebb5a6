"""Tests of the next step: worked by hand, searched in full, and what must always hold."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from full_search import Search, random_problem
from made_facts import made_facts
from made_models import Shape, made_model
from tiny_models import at_the_machine, one_fault, tiny_model
from tubside.diagnosis import options as opened
from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import believe, believe_sets
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.hypotheses import healthy_sets, joined, single_sets
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.options import (
    open_options,
)
from tubside.pack.fault_model import FaultModel

EVERY = (1000, 1000)


@pytest.fixture
def _sure_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every look succeed, so that problems stay small enough to work by hand."""
    monkeypatch.setattr(opened, "CANNOT_LOOK", (0.0, 0.0))


def steps_of(model: FaultModel) -> list[Step]:
    """Return all steps of a technician on site, every one followed over every row."""
    return best_steps(model, Evidence(), one_fault(model), at_the_machine(model), EVERY)


def named(steps: list[Step]) -> dict[tuple[str, int], Step]:
    """Return the steps by kind and number."""
    return {(step.kind, step.index): step for step in steps}


@pytest.mark.usefixtures("_sure_looks")
def test_perfect_look_by_hand() -> None:
    """Tests two causes: to look for 1 and repair costs 21, to try one after the other 25."""
    model = tiny_model(
        [0.5, 0.5],
        [(10.0, {0: 1.0}), (30.0, {1: 1.0})],
        [(1.0, [[1.0, 0.0], [0.0, 1.0]])],
    )
    steps = steps_of(model)
    assert steps[0].kind == "check"
    assert steps[0].expected_cost == pytest.approx(21.0)
    assert named(steps)["remedy", 0].expected_cost == pytest.approx(10.0 + 0.5 * 30.0)
    assert named(steps)["remedy", 0].works == pytest.approx(0.5)
    assert named(steps)["remedy", 1].expected_cost == pytest.approx(30.0 + 0.5 * 10.0)
    assert named(steps)["scrap", 0].expected_cost == pytest.approx(500.0)


@pytest.mark.usefixtures("_sure_looks")
@pytest.mark.parametrize(("cost", "first"), [(4.9, "check"), (5.1, "remedy")])
def test_look_is_worth_so_much_and_no_more(cost: float, first: str) -> None:
    """Tests the same: looking saves 5, and is advised below that price alone."""
    model = tiny_model(
        [0.5, 0.5],
        [(10.0, {0: 1.0}), (30.0, {1: 1.0})],
        [(cost, [[1.0, 0.0], [0.0, 1.0]])],
    )
    assert steps_of(model)[0].kind == first


@pytest.mark.usefixtures("_sure_looks")
def test_chance_over_cost_by_hand() -> None:
    """Tests three causes and no look: the order of chance over cost, 8 in all.

    Chances 1/2, 3/10, 1/5 and costs 6, 3, 4: the published rule (Kadane & Simon 1977)
    starts with the second.
    """
    model = tiny_model(
        [0.5, 0.3, 0.2], [(6.0, {0: 1.0}), (3.0, {1: 1.0}), (4.0, {2: 1.0})], [], ending=900.0
    )
    steps = steps_of(model)
    assert [(s.kind, s.index) for s in steps][:2] == [("remedy", 1), ("remedy", 0)]
    assert steps[0].expected_cost == pytest.approx(3.0 + 0.7 * (6.0 + 0.2 / 0.7 * 4.0))
    assert steps[0].expected_cost == pytest.approx(8.0)


@pytest.mark.usefixtures("_sure_looks")
def test_job_is_ended_where_repair_costs_more() -> None:
    """Tests that a repair dearer than a new machine is not advised."""
    model = tiny_model([0.6, 0.4], [(90.0, {0: 1.0}), (400.0, {1: 1.0})], [], ending=80.0)
    assert steps_of(model)[0].kind == "scrap"
    cheaper = tiny_model([0.6, 0.4], [(20.0, {0: 1.0}), (400.0, {1: 1.0})], [], ending=80.0)
    best = steps_of(cheaper)[0]
    assert best.kind == "remedy"
    assert best.expected_cost == pytest.approx(20.0 + 0.4 * 80.0)


@pytest.mark.usefixtures("_sure_looks")
def test_callback_is_paid_where_the_fault_hides() -> None:
    """Tests a fault that shows half the time: half the failures look like success."""
    model = replace(tiny_model([1.0], [(10.0, {0: 0.8})], []), shows=np.array([0.5]))
    (remedy, *_) = steps_of(model)
    assert remedy.works == pytest.approx(0.8)
    # Of the 0.2 that stay, half fail at once: the remedy is used up, the job ends for 500.
    assert remedy.expected_cost == pytest.approx(10.0 + 0.1 * 500.0 + 0.1 * 95.0)


@pytest.mark.parametrize("seed", range(12))
def test_two_steps_agree_with_full_search(seed: int) -> None:
    """Tests every step that was followed against searching all outcomes two deep."""
    model = random_problem(seed)
    belief, situation = one_fault(model), at_the_machine(model)
    options = open_options(model, Evidence(), belief, situation)
    wanted = Search(model.costs.callback).values(options, belief.probability, 2)
    steps = best_steps(model, Evidence(), belief, situation, EVERY)
    followed = [step for step in steps if step.ahead == 2]
    assert len(followed) >= 3
    assert len({step.kind for step in followed}) >= 2
    for step in followed:
        assert step.expected_cost == pytest.approx(wanted[step.kind, step.index], rel=1e-9)
    first = steps[0]
    paying = {(s.kind, s.index) for s in steps if s.pays}
    assert first.expected_cost == pytest.approx(
        min(300.0, *(cost for key, cost in wanted.items() if key in paying)), rel=1e-9
    )


@pytest.mark.parametrize("seed", range(12))
def test_one_step_agrees_with_full_search(seed: int) -> None:
    """Tests the values one step ahead, which rank what is not followed further."""
    model = random_problem(seed)
    belief, situation = one_fault(model), at_the_machine(model)
    options = open_options(model, Evidence(), belief, situation)
    wanted = Search(model.costs.callback).values(options, belief.probability, 1)
    for step in best_steps(model, Evidence(), belief, situation, (0, 1000)):
        if step.kind in {"check", "remedy", "refer"}:
            assert step.expected_cost == pytest.approx(wanted[step.kind, step.index], rel=1e-9)


def dearer(model: FaultModel, factor: float) -> FaultModel:
    """Return the model with every cost in another money."""
    money = {
        field.name: getattr(model.costs, field.name) * factor
        for field in fields(model.costs)
        if not field.name.startswith("life") and field.name != "part_wait_days"
    }
    return replace(
        model,
        costs=replace(model.costs, **money),
        part_price=model.part_price * factor,
        stops=tuple(replace(s, cost=s.cost * factor) for s in model.stops),
    )


def random_job(seed: int, *, on_site: bool, factor: float = 1.0) -> list[Step]:
    """Return the steps of a random job on an invented model, costs times ``factor``."""
    model = dearer(made_model(Shape(causes=7, remedies=8, seed=seed % 5)), factor)
    rng = np.random.default_rng(seed)
    evidence = evidence_of(model, made_facts(model, rng, 4))
    belief = believe(model, evidence, 100)
    return best_steps(model, evidence, belief, at_the_machine(model, on_site=on_site))


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**31), factor=st.sampled_from([0.01, 7.3, 1000.0]), site=st.booleans())
def test_costs_in_another_money(seed: int, factor: float, site: bool) -> None:
    """Tests that scaling every cost scales every expected cost and keeps the ranking."""
    plain, scaled = (random_job(seed, on_site=site, factor=f) for f in (1.0, factor))
    assert [(s.kind, s.index) for s in scaled] == [(s.kind, s.index) for s in plain]
    assert [s.expected_cost for s in scaled] == pytest.approx(
        [s.expected_cost * factor for s in plain], rel=1e-9
    )


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**31), site=st.booleans())
def test_order_of_checks_does_not_matter(seed: int, site: bool) -> None:
    """Tests that numbering checks and remedies otherwise keeps the ranking."""
    model = made_model(Shape(causes=7, remedies=8, seed=seed % 5))
    evidence = Evidence()
    turned = replace(model, checks=model.checks[::-1], remedies=model.remedies[::-1])
    situation = at_the_machine(model, on_site=site)
    one = best_steps(model, evidence, believe(model, evidence, 100), situation)
    other = best_steps(turned, evidence, believe(turned, evidence, 100), situation)
    last = {"check": len(model.checks) - 1, "remedy": len(model.remedies) - 1}
    back = [(s.kind, last[s.kind] - s.index if s.kind in last else s.index) for s in other]
    assert back == [(s.kind, s.index) for s in one]
    assert [s.expected_cost for s in other] == pytest.approx([s.expected_cost for s in one])


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("cost", [0.01, 2.0])
def test_check_that_tells_nothing_is_never_first(seed: int, cost: float) -> None:
    """Tests that a check with equal rows for all causes stands below all that pay."""
    model = random_problem(seed)
    same = [(cost, [[0.3, 0.7]] * 4)]
    extra = tiny_model([0.25] * 4, [], same)
    number = len(model.checks)
    look = replace(extra.checks[0], finding=len(model.findings))
    model = replace(
        model, findings=(*model.findings, *extra.findings), checks=(*model.checks, look)
    )
    steps = steps_of(model)
    place = [(s.kind, s.index) for s in steps].index(("check", number))
    assert not steps[place].pays
    assert all(not step.pays for step in steps[place:])


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("sound", [0.0, 0.7])
def test_remedy_for_nothing_possible_is_never_first(seed: int, sound: float) -> None:
    """Tests a cheap remedy of a cause that is not there, also where all may be well."""
    model = random_problem(seed)
    chance = np.append(model.prior.odds[:3], 0.0)
    useless = replace(model.remedies[3], minutes=0.5)
    model = replace(model, remedies=(*model.remedies[:3], useless))
    belief = one_fault(model)
    weight = chance / chance.sum() * (1.0 - sound)
    rows = belief.rows
    if sound:
        sets = joined([healthy_sets(4), single_sets(4)])
        rows = believe_sets(model, Evidence(), sets, bounded=False).rows
        weight = np.append([sound / 2, sound / 2], weight)
    belief = replace(belief, rows=rows, probability=weight)
    steps = best_steps(model, Evidence(), belief, at_the_machine(model), EVERY)
    remedy = named(steps)["remedy", 3]
    assert remedy.works == pytest.approx(0.0, abs=1e-12)
    assert not remedy.pays
    assert steps[0] != remedy


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**31), site=st.booleans())
def test_steps_are_finite_and_ranked(seed: int, site: bool) -> None:
    """Tests that costs are finite, followed steps in order, and no step is listed twice."""
    steps = random_job(seed, on_site=site)
    assert all(np.isfinite(s.expected_cost) and s.expected_cost >= 0.0 for s in steps)
    assert all(-1e-12 <= s.works <= 1.0 + 1e-12 for s in steps)
    front = [s.expected_cost for s in steps[: sum(s.ahead == 2 for s in steps)]]
    assert front == sorted(front)
    keys = [(s.kind, s.index) for s in steps]
    assert len(set(keys)) == len(keys)
    assert ("visit", 0) in keys or site


def test_visit_waits_until_the_phone_has_nothing_cheap() -> None:
    """Tests a fault that a customer clears for a few minutes: no visit before trying."""
    model = tiny_model([0.9, 0.1], [(4.0, {0: 0.95}), (20.0, {1: 0.9})], [])
    model = replace(
        model, remedies=(model.remedies[0], replace(model.remedies[1], by=(1,), phone=False))
    )
    phone = at_the_machine(model, on_site=False)
    steps = best_steps(model, Evidence(), one_fault(model), phone, EVERY)
    assert (steps[0].kind, steps[0].index) == ("remedy", 0)
    assert steps[0].cost == pytest.approx(4.0 * 1.3)
    gone = replace(phone, tried=frozenset({(0, 0)}))
    assert best_steps(model, Evidence(), one_fault(model), gone, EVERY)[0].kind == "visit"


def test_young_machine_may_go_back() -> None:
    """Tests that returning is among the ends of a young machine alone."""
    model = made_model(Shape(causes=5, seed=1))
    belief = believe(model, Evidence(), 60)
    for age, back in ((1.0, True), (3.0, False), (None, False)):
        situation = at_the_machine(model, age_years=age)
        kinds = {s.kind for s in best_steps(model, Evidence(), belief, situation)}
        assert ("return" in kinds) is back
        assert "scrap" in kinds
