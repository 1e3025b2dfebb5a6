"""The bound on what was left out stays one when numbers were measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import every_set, of_few_causes
from made_readings import reading_check, with_readings
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import FAILS, IS, OVER, Answer, Evidence, Measured, Treatment
from tubside.diagnosis.hypotheses import Sets
from tubside.pack.fault_model import PLUS, TIMES, FaultModel, Move

MOVES = (
    Move(0, 0, PLUS, -4.0, 0.5),
    Move(1, 1, TIMES, 0.3, 0.2),
    Move(2, 0, TIMES, 0.7, 0.1),
    Move(3, 1, TIMES, 0.6, 0.3),
    Move(4, 0, TIMES, 1.3, 0.2),
)
EVERY = every_set(5)


def model() -> FaultModel:
    """Five causes that all alter the flow, one that also spoils it; more second faults."""
    checks = (
        reading_check("flow", share=0.08, spoiled_by=((2, 0.3),)),
        reading_check("pressure", plain=0.4),
    )
    made = with_readings(checks, MOVES)
    few = of_few_causes(made, np.arange(5))
    return replace(few, prior=replace(few.prior, odds=few.prior.odds * 8.0))


@pytest.mark.parametrize("kept", [12, 20, 27])
@pytest.mark.parametrize("remedy", [False, True])
@pytest.mark.parametrize("values", [(6.0,), (3.0, 9.5), (6.0, 6.1, 8.0)])
def test_the_bound_holds(values: tuple[float, ...], *, remedy: bool, kept: int) -> None:
    """Tests every belief against that over all sets: no chance is off by more than the bound."""
    made = model()
    check = len(made.checks) - 2
    readings = [
        Measured(check + (n == len(values) - 1), v, IS, n % 2, 0, n > 0, "")
        for n, v in enumerate(values)
    ]
    treatments: tuple[Treatment, ...] = ()
    if remedy:
        treatments = (Treatment(np.array([0.9, 0.0, 0.0, 0.5, 0.0]), FAILS),)
        readings = [replace(r, epoch=1) if r is readings[-1] else r for r in readings]
    readings.append(Measured(check, 1.0, OVER, 1, 0, again=True, instrument="other"))
    evidence = Evidence(
        answers=(Answer(0, 0, 1, 0),), treatments=treatments, readings=tuple(readings)
    )
    whole = believe_sets(made, evidence, EVERY)
    cut = Sets(EVERY.members[:kept], EVERY.healthy[:kept])
    belief = believe_sets(made, evidence, cut)
    missing = 1.0 - np.exp(belief.log_evidence - whole.log_evidence)
    assert missing <= belief.left_out + 1e-9
    assert np.abs(belief.now() - whole.now()).max() <= belief.left_out + 1e-9


def test_nothing_left_out_is_bounded_by_little() -> None:
    """Tests that the bound falls to nothing when every set was kept."""
    made = model()
    evidence = Evidence(readings=(Measured(len(made.checks) - 1, 6.0, IS, 1),))
    assert believe_sets(made, evidence, EVERY).left_out < 1e-6
