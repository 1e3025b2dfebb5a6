"""One more finding at 5,000 sets: ours against pyAgrum on the same sets in the same run."""

from __future__ import annotations

from collections.abc import Iterator
from types import ModuleType

import numpy as np
from timing import line, median_ms

from tubside.diagnosis.belief import Belief, believe, update
from tubside.diagnosis.evidence import Answer, Evidence, FirstComplaint, Look, looks
from tubside.diagnosis.states import seen_table
from tubside.pack.fault_model import FaultModel, Floats
from tubside.service.knowledge import knowledge_of_family

FAMILIES = {"top_load": "water-standing", "front_load": "water-standing"}
SETS = 5000


def report() -> Iterator[str]:
    """Rows for both packs."""
    for family, check in FAMILIES.items():
        model = knowledge_of_family(family).model
        complaint = model.complaint.said[:, model.names.conditions.index("wont_spin")]
        belief = believe(model, Evidence(FirstComplaint(complaint)), SETS)
        look = _look(model, check)
        ours = median_ms(lambda b=belief, o=look, m=model: update(m, b, o).now())  # type: ignore[misc]
        yield line(
            f"{family}: update and chances of all causes, {len(belief.probability)} sets",
            ours,
            "ms",
            "<= 2 ms",
        )
        yield from _reference(model, belief, look, ours)


def _look(model: FaultModel, check: str) -> Look:
    answer = Answer(model.names.checks.index(check), 0, 0, 0)
    return looks(model, Evidence(answers=(answer,)))[0]


def _reference(model: FaultModel, belief: Belief, look: Look, ours: float) -> Iterator[str]:
    """The same question to pyAgrum: a node over the sets, its causes and the finding below.

    The net is built beforehand and not timed; only evidence, inference and reading
    the chance of every cause are.
    """
    try:
        import pyagrum as gum  # noqa: PLC0415  # an oracle, not a dependency
    except ImportError:
        yield "  pyAgrum is not installed: no ratio"
        return
    net = gum.BayesNet()
    sets = net.add(gum.LabelizedVariable("set", "set", len(belief.probability)))
    net.cpt(sets)[:] = belief.probability
    table = seen_table(model, look.finding, belief.rows.now)
    _child(gum, net, "finding", table)
    names = [f"cause{i}" for i in range(model.n_causes)]
    for name, member in zip(names, belief.rows.now.T.astype(float), strict=True):
        _child(gum, net, name, np.stack([1.0 - member, member], axis=1))
    engine = gum.LazyPropagation(net)
    answers = [look.likelihood, look.likelihood[::-1]]

    def query() -> list[float]:
        answers.reverse()
        engine.eraseAllEvidence()
        engine.addEvidence("finding", answers[0].tolist())
        engine.makeInference()
        return [float(engine.posterior(name)[1]) for name in names]

    theirs = median_ms(query, 6)
    query()
    same = np.abs(np.array(query()) - update(model, belief, look).now()).max()
    if answers[0] is not look.likelihood:
        same = np.abs(np.array(query()) - update(model, belief, look).now()).max()
    ratio = f"{theirs / ours:.0f} times ours; largest difference {same:.0e}"
    yield line("  pyAgrum, same sets, chances of all causes", theirs, "ms", ">= 20 times", ratio)


def _child(gum: ModuleType, net: object, name: str, table: Floats) -> None:
    child = net.add(gum.LabelizedVariable(name, name, table.shape[1]))  # type: ignore[attr-defined]
    net.addArc(net.idFromName("set"), child)  # type: ignore[attr-defined]
    net.cpt(child)[:] = table  # type: ignore[attr-defined]
