"""A second engine: one node over all hypotheses, in a general Bayesian network.

The belief engine multiplies likelihoods over a list of hypotheses, each a set of
causes. The same model is a network with one node whose states are the hypotheses
and a child for each report; pyAgrum's exact junction tree must give the same
posterior.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pyagrum as gum

Floats = npt.NDArray[np.float64]
Report = tuple[Floats, "int | Floats"]
Latent = tuple[Floats, Sequence[Report]]


def posterior(
    prior: Floats,
    tables: Sequence[Floats],
    observed: Sequence[int],
    *,
    soft: Sequence[Floats] | None = None,
) -> Floats:
    """Return P(hypothesis | reports): (n,).

    Parameters
    ----------
    prior : (n,) array
        Chances of the hypotheses, summing to one.
    tables : sequence of (n, m) arrays
        P(report | hypothesis), rows summing to one; one table for each report.
    observed : sequence of int
        Outcomes of the first ``len(observed)`` reports.
    soft : sequence of (m,) arrays, optional
        Likelihoods of the outcomes of the remaining reports, when the outcome itself was
        not seen for certain.
    """
    seen: list[int | Floats] = [*observed, *(soft or [])]
    net = _net(prior)
    evidence = {
        _child(net, f"report{i}", "hypothesis", table): likelihood
        for i, (table, likelihood) in enumerate(zip(tables, seen, strict=True))
    }
    return _solve(net, evidence)


def posterior_latent(prior: Floats, latents: Sequence[Latent]) -> Floats:
    """Return P(hypothesis | reports) when reports are of latent states: (n,).

    Parameters
    ----------
    prior : (n,) array
        Chances of the hypotheses, summing to one.
    latents : sequence of (state table, reports)
        A latent node's P(state | hypothesis), (n, k); and its reports, each a pair of
        P(report | state), (k, m), and what was reported: an outcome, or a likelihood (m,).
    """
    net = _net(prior)
    evidence: dict[str, int | Floats] = {}
    for i, (states, reports) in enumerate(latents):
        latent = _child(net, f"latent{i}", "hypothesis", states)
        for j, (table, seen) in enumerate(reports):
            evidence[_child(net, f"report{i}_{j}", latent, table)] = seen
    return _solve(net, evidence)


def _net(prior: Floats) -> gum.BayesNet:
    net = gum.BayesNet()
    net.add(gum.LabelizedVariable("hypothesis", "", len(prior)))
    net.cpt("hypothesis")[:] = np.ascontiguousarray(prior, dtype=float)
    return net


def _child(net: gum.BayesNet, name: str, parent: str, table: Floats) -> str:
    net.add(gum.LabelizedVariable(name, "", table.shape[1]))
    net.addArc(parent, name)
    net.cpt(name)[:] = np.ascontiguousarray(table, dtype=float)
    return name


def _solve(net: gum.BayesNet, evidence: dict[str, int | Floats]) -> Floats:
    engine = gum.LazyPropagation(net)
    for name, seen in evidence.items():
        engine.addEvidence(name, seen if isinstance(seen, int) else [float(x) for x in seen])
    engine.addTarget("hypothesis")
    engine.makeInference()
    return np.asarray(engine.posterior("hypothesis").toarray(), dtype=float)
