"""The search against an influence diagram solved by a second engine."""

from __future__ import annotations

from importlib import import_module

import numpy as np
import pytest

from made_problems import problem_of
from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.problem import Check, Floats, Remedy

gum = pytest.importorskip("pyagrum", reason="pyagrum is not installed: no engine to compare with")
diagrams = import_module("pyagrum.influence_diagram")
STATES, STOP = 3, 90.0


def least_by_diagram(seed: int) -> float:
    """Return the least cost of: check or not, see, one remedy or none, then stop if it fails."""
    prior, rows, clears, costs = numbers(seed)
    job = diagrams.InfluenceDiagram()
    job.addDecisionNode(gum.LabelizedVariable("look", "", ["no", "yes"]))
    job.addDecisionNode(gum.LabelizedVariable("mend", "", ["none", "first", "second"]))
    job.addChanceNode(gum.LabelizedVariable("cause", "", STATES))
    job.addChanceNode(gum.LabelizedVariable("seen", "", ["bad", "good", "nothing"]))
    job.addUtilityNode(gum.LabelizedVariable("spent", "", 1))
    job.addUtilityNode(gum.LabelizedVariable("fee", "", 1))
    for tail, head in [("look", "seen"), ("cause", "seen"), ("seen", "mend"), ("look", "mend")]:
        job.addArc(tail, head)
    for tail, head in [("cause", "spent"), ("mend", "spent"), ("look", "fee")]:
        job.addArc(tail, head)
    job.cpt("cause")[:] = prior.tolist()
    job.utility("fee")[{"look": 0}] = 0.0
    job.utility("fee")[{"look": 1}] = -costs[0]
    for state in range(STATES):
        job.cpt("seen")[{"look": 0, "cause": state}] = [0.0, 0.0, 1.0]
        job.cpt("seen")[{"look": 1, "cause": state}] = [*rows[state], 0.0]
        job.utility("spent")[{"cause": state, "mend": 0}] = -STOP
        for way in range(2):
            cost = costs[way + 1] + (1 - clears[way, state]) * STOP
            job.utility("spent")[{"cause": state, "mend": way + 1}] = -cost
    engine = diagrams.ShaferShenoyLIMIDInference(job)
    engine.addNoForgettingAssumption(["look", "mend"])
    engine.makeInference()
    return -float(engine.MEU()["mean"])


def numbers(seed: int) -> tuple[Floats, Floats, Floats, list[float]]:
    """Return prior, rows of the check, chances of two remedies, and the three costs."""
    rng = np.random.default_rng(seed)
    clears = rng.choice([0.0, 0.6, 0.9, 1.0], size=(2, STATES))
    costs = [float(rng.uniform(1, 12)), *(float(c) for c in rng.uniform(10, 40, 2))]
    return rng.dirichlet(np.ones(STATES)), rng.dirichlet(np.ones(2), size=STATES), clears, costs


@pytest.mark.parametrize("seed", range(12))
def test_one_check_and_one_remedy(seed: int) -> None:
    """Tests a diagram that may try one remedy: between trying both and only one of them."""
    prior, rows, clears, costs = numbers(seed)
    look = Check("look", costs[0], ("bad", "good"), rows, rows[0])
    ways = [Remedy(str(i), costs[i + 1], clears[i]) for i in range(2)]
    both = solve(problem_of(prior, [look], ways, stop=STOP)).expected_cost
    alone = [solve(problem_of(prior, [look], [way], stop=STOP)).expected_cost for way in ways]
    diagram = least_by_diagram(seed)
    assert both <= diagram + 1e-9
    assert diagram <= min(alone) + 1e-9


def test_the_wildcatter_by_both() -> None:
    """Tests one published problem that both can hold: they agree to the last digits."""
    rows = np.array([[0.1, 0.3, 0.6], [0.3, 0.4, 0.3], [0.5, 0.4, 0.1]])
    seismic = Check("seismic", 10.0, ("closed", "open", "diffuse"), rows, rows[0])
    drill = Remedy("drill", 70.0, np.array([0.0, 0.12, 0.27]))
    problem = problem_of([0.5, 0.3, 0.2], [seismic], [drill], stop=1000.0)
    best = import_module("wildcatter").best_value()
    assert 1000.0 - solve(problem).expected_cost == pytest.approx(best, abs=1e-9)
