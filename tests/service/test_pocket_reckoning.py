"""What the pocket comes to against the engine itself, on the same sets."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest

from pocketed import Case, cases, knowledge, source
from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import Belief, believe_sets, finished
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Sets
from tubside.diagnosis.situation import Situation
from tubside.errors import JobFileError
from tubside.pack.fault_model import FaultModel
from tubside.service.advise import situation_of
from tubside.service.coding import coded_facts
from tubside.service.danger import dangers
from tubside.service.pocket_reckoning import Pocket, reckon, steps
from tubside.service.records import Body, Machine, ReadingDone

JOBS, LATER, SETS = 8, 5, 160
MANY = 4000


@cache
def made() -> tuple[Case, ...]:
    """Jobs of all four families."""
    return tuple(cases(23, JOBS, LATER, SETS, every=100))


def model_of(case: Case) -> FaultModel:
    """The compiled model of the job's machine, readings included."""
    machine = case.early[0]
    assert isinstance(machine, Machine)
    return knowledge(str(machine.family)).model


def known_of(case: Case, bodies: Sequence[Body]) -> tuple[Evidence, Situation]:
    """Evidence and situation as the server works them out."""
    machine = case.early[0]
    assert isinstance(machine, Machine)
    known, job = knowledge(str(machine.family)), source(bodies)
    found = tuple(dangers(job.job, known.pack))
    return evidence_of(known.model, coded_facts(job, known)), situation_of(job, known, found)


def told_later(case: Case) -> list[Body]:
    """Everything told that can be worked in, later readings left out."""
    for told in range(LATER, 0, -1):
        bodies = [*case.early, *case.later[:told]]
        early = len(case.early)
        some = [b for n, b in enumerate(bodies) if n < early or not isinstance(b, ReadingDone)]
        try:
            known_of(case, some)
        except JobFileError:
            continue
        return some
    return list(case.early)


def engine(case: Case, bodies: Sequence[Body], sets: Sets) -> tuple[Evidence, Belief]:
    """Belief by the engine over these sets."""
    evidence, _ = known_of(case, bodies)
    return evidence, believe_sets(model_of(case), evidence, sets)


@pytest.mark.parametrize("number", range(JOBS))
def test_belief_is_that_of_the_engine(number: int) -> None:
    """Tests that the pocket gives the engine's belief on its sets, before and after more facts."""
    case = made()[number]
    pocket = Pocket.of(case.told)
    for bodies in (case.early, told_later(case)):
        evidence, belief = engine(case, bodies, pocket.sets)
        found = reckon(pocket, evidence).belief
        assert np.allclose(found.probability, belief.probability, rtol=0.0, atol=1e-9)
        assert np.allclose(found.now(), belief.now(), rtol=0.0, atol=1e-9)
    assert reckon(pocket).belief.left_out == pytest.approx(case.told["left_out"], rel=1e-9)


@pytest.mark.parametrize("number", range(JOBS))
def test_steps_are_those_of_the_engine(number: int) -> None:
    """Tests that steps stand at the engine's costs, one step and two steps ahead.

    By phone the bins of readings on site are cut from all rows here, and from the
    heaviest in the engine, which may move a cost by a little.
    """
    case = made()[number]
    pocket = Pocket.of(case.told)
    evidence, situation = known_of(case, case.early)
    if finished(evidence):
        return
    belief = believe_sets(model_of(case), evidence, pocket.sets)
    near = 1e-9 if situation.on_site else 1e-3
    for ahead in ((0, 150), (12, 150)):
        theirs = best_steps(model_of(case), evidence, belief, situation, ahead)
        mine = steps(reckon(pocket), ahead)
        assert {(s.kind, s.index) for s in mine} == {(s.kind, s.index) for s in theirs}
        costs = [s.expected_cost for s in theirs]
        assert [s.expected_cost for s in mine] == pytest.approx(costs, rel=near)


@pytest.mark.parametrize("number", range(JOBS))
def test_the_bound_holds_after_more_facts(number: int) -> None:
    """Tests that the sets left out of the pocket never weigh more than it says."""
    case = made()[number]
    pocket = Pocket.of(case.told)
    bodies = told_later(case)
    evidence, _ = known_of(case, bodies)
    inside = {row.tobytes() for row in pocket.sets.members}
    many = believe_sets(model_of(case), evidence, grow(model_of(case), evidence, MANY))
    outside = np.array([row.tobytes() not in inside for row in many.rows.sets.members])
    assert outside.any()
    told = reckon(pocket, evidence).belief.left_out
    assert float(many.probability[outside].sum()) <= told + 1e-12


def test_one_fact_makes_the_bound_larger_where_it_is_unlikely() -> None:
    """Tests that the bound follows the evidence: divided by the chance of what was told."""
    case = next(c for c in made() if not c.told["finished"])
    pocket = Pocket.of(case.told)
    evidence, _ = known_of(case, told_later(case))
    before, after = reckon(pocket).belief, reckon(pocket, evidence).belief
    chance = np.exp(after.log_evidence - before.log_evidence)
    share = before.left_out / (1.0 - before.left_out) / chance
    assert after.left_out == pytest.approx(share / (1.0 + share), rel=1e-9)
