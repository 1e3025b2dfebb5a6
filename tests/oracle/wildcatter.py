"""The oil wildcatter as an influence diagram, solved by pyAgrum's LIMID engine."""

from __future__ import annotations

import numpy as np
import pyagrum as gum
from pyagrum import influence_diagram as diagrams

COST_OF_TEST = 10.0


def diagram() -> diagrams.InfluenceDiagram:
    """Return the diagram: test or not, see the signal, drill or not."""
    wells = diagrams.InfluenceDiagram()
    wells.addDecisionNode(gum.LabelizedVariable("test", "", ["no", "yes"]))
    wells.addDecisionNode(gum.LabelizedVariable("drill", "", ["no", "yes"]))
    wells.addChanceNode(gum.LabelizedVariable("oil", "", ["dry", "wet", "soaking"]))
    signals = ["closed", "open", "diffuse", "none"]
    wells.addChanceNode(gum.LabelizedVariable("signal", "", signals))
    wells.addUtilityNode(gum.LabelizedVariable("payoff", "", 1))
    wells.addUtilityNode(gum.LabelizedVariable("fee", "", 1))
    for tail, head in (
        ("test", "signal"),
        ("oil", "signal"),
        ("test", "drill"),
        ("signal", "drill"),
        ("oil", "payoff"),
        ("drill", "payoff"),
        ("test", "fee"),
    ):
        wells.addArc(tail, head)
    _fill(wells)
    return wells


def _fill(wells: diagrams.InfluenceDiagram) -> None:
    wells.cpt("oil")[:] = [0.5, 0.3, 0.2]
    seismic = np.array([[0.1, 0.3, 0.6, 0.0], [0.3, 0.4, 0.3, 0.0], [0.5, 0.4, 0.1, 0.0]])
    for state, row in enumerate(seismic):
        wells.cpt("signal")[{"test": 1, "oil": state}] = row
        wells.cpt("signal")[{"test": 0, "oil": state}] = [0.0, 0.0, 0.0, 1.0]
    for state, money in enumerate((-70.0, 50.0, 200.0)):
        wells.utility("payoff")[{"oil": state, "drill": 1}] = money
        wells.utility("payoff")[{"oil": state, "drill": 0}] = 0.0
    wells.utility("fee")[{"test": 1}] = -COST_OF_TEST
    wells.utility("fee")[{"test": 0}] = 0.0


def best_value() -> float:
    """Return the expected payoff of the best plan."""
    engine = diagrams.ShaferShenoyLIMIDInference(diagram())
    engine.addNoForgettingAssumption(["test", "drill"])
    engine.makeInference()
    return float(engine.MEU()["mean"])
