"""A second engine: fully independent causes and noisy-OR conditions, every table explicit.

The tables are written out entry by entry from

    P(condition off | causes) = (1 - leak) * product over present causes of (1 - weight)

which is the kind pyAgrum calls "net"; its default kind, "compound", takes the
weight to include the leak and must not be used for comparison.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
import pyagrum as gum

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Evidence = Mapping[str, "int | Floats"]

MOST_CAUSES = 14


@dataclass(frozen=True, slots=True)
class TwoLayers:
    """Independent causes with prior (n,), weights (n, c) and leak (c,) of the conditions."""

    prior: Floats
    weights: Floats
    leak: Floats

    def __post_init__(self) -> None:
        if len(self.prior) > MOST_CAUSES:
            msg = f"{len(self.prior)} causes make tables too long; give at most {MOST_CAUSES}"
            raise ValueError(msg)


def every_set(n: int) -> Bools:
    """Return all sets of n causes, the last cause changing fastest: (2**n, n)."""
    return np.array(list(product((False, True), repeat=n)), dtype=bool).reshape(-1, n)


def off(layers: TwoLayers, sets: Bools) -> Floats:
    """Return P(condition off | set): (N, c)."""
    kept = np.where(sets[:, :, None], 1.0 - layers.weights[None], 1.0)
    return np.asarray((1.0 - layers.leak) * kept.prod(axis=1))


def conditions_net(layers: TwoLayers) -> gum.BayesNet:
    """Return the net of causes ``x0``, ... and binary conditions ``y0``, ...

    A condition has as parents the causes with a weight above 0.
    """
    net = causes_net(layers.prior)
    for c in range(len(layers.leak)):
        parents = np.flatnonzero(layers.weights[:, c] > 0)
        small = TwoLayers(layers.prior[parents], layers.weights[parents][:, [c]], layers.leak[[c]])
        dark = off(small, every_set(len(parents)))
        add_table(net, f"y{c}", [f"x{i}" for i in parents], np.hstack([dark, 1.0 - dark]))
    return net


def causes_net(prior: Floats) -> gum.BayesNet:
    """Return the net of independent causes alone: ``x0``, ... with states 0 and 1."""
    net = gum.BayesNet()
    for i, chance in enumerate(prior):
        net.add(gum.LabelizedVariable(f"x{i}", "", 2))
        net.cpt(f"x{i}")[:] = [1.0 - chance, chance]
    return net


def add_first_complaint(net: gum.BayesNet, layers: TwoLayers, healthy: Floats) -> None:
    """Add node ``first``: the first condition in order, given that somebody complained.

    Its row for a set S is P(first = c | S) / P(some condition | S); ``healthy`` (c,) is the
    row of the empty set. So the division is inside the table and is done once.
    """
    dark = off(layers, every_set(len(layers.prior)))
    before = np.cumprod(np.hstack([np.ones((len(dark), 1)), dark]), axis=1)
    rows = before[:, :-1] * (1.0 - dark) / (1.0 - before[:, -1:])
    rows[0] = healthy
    add_table(net, "first", [f"x{i}" for i in range(len(layers.prior))], rows)


def add_table(net: gum.BayesNet, name: str, parents: list[str], rows: Floats) -> None:
    """Add a node with rows P(state | parents), the last parent changing fastest."""
    net.add(gum.LabelizedVariable(name, "", rows.shape[1]))
    for parent in parents:
        net.addArc(parent, name)
    shape = [net.variable(parent).domainSize() for parent in parents]
    by_name = np.asarray(rows, dtype=float).reshape(*shape, rows.shape[1])
    stored = list(net.cpt(name).names)[::-1]
    axes = [[*parents, name].index(each) for each in stored]
    net.cpt(name)[:] = np.ascontiguousarray(by_name.transpose(axes))


def cause_posteriors(net: gum.BayesNet, evidence: Evidence) -> Floats:
    """Return P(cause | evidence) for every cause ``x0``, ...: (n,)."""
    engine = gum.LazyPropagation(net)
    _observe(engine, evidence)
    engine.makeInference()
    return np.array([engine.posterior(name)[1] for name in _causes(net)])


def set_posteriors(net: gum.BayesNet, evidence: Evidence) -> Floats:
    """Return P(set | evidence) in the order of :func:`every_set`: (2**n,)."""
    engine = gum.LazyPropagation(net)
    names = _causes(net)
    engine.addJointTarget(set(names))
    _observe(engine, evidence)
    engine.makeInference()
    joint = engine.jointPosterior(set(names))
    stored = list(joint.names)[::-1]
    return (
        np.asarray(joint.toarray(), dtype=float)
        .transpose([stored.index(name) for name in names])
        .reshape(-1)
    )


def _causes(net: gum.BayesNet) -> list[str]:
    return sorted((n for n in net.names() if n.startswith("x")), key=lambda n: int(n[1:]))


def _observe(engine: gum.LazyPropagation, evidence: Evidence) -> None:
    for name, seen in evidence.items():
        engine.addEvidence(name, seen if isinstance(seen, int) else [float(x) for x in seen])
