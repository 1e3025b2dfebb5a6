"""Belief: probabilities over sets of causes, given the facts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.evidence import WORKS, Evidence, Look, Measured
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Rows, Sets, follow, log_prior, prior_now
from tubside.diagnosis.left_out import left_out_bound
from tubside.diagnosis.likelihood import log_likelihood, look_log
from tubside.diagnosis.reading_density import added_log
from tubside.errors import FactsDisagreeError
from tubside.pack.fault_model import FaultModel, Floats

DEFAULT_SETS = 5000


@dataclass(frozen=True, slots=True)
class Belief:
    """Rows of hypotheses with their probabilities, and what was left out.

    ``left_out`` bounds the posterior mass of all sets that were not kept: no
    probability stated from this belief is wrong by more than it.
    """

    rows: Rows
    probability: Floats  # (N,) sums to one
    log_evidence: float
    left_out: float

    def at_call(self) -> Floats:
        """P(cause was there when the customer rang): (n,)."""
        return np.asarray(self.probability @ self.rows.sets.members)

    def now(self) -> Floats:
        """P(cause is still there): (n,)."""
        return np.asarray(self.probability @ self.rows.now)

    def healthy(self) -> Floats:
        """P(nothing wrong), P(cleared by itself): (2,)."""
        kind = self.rows.sets.healthy
        return np.array([self.probability[kind == h].sum() for h in (0, 1)])

    def mended(self) -> float:
        """P(something was wrong and nothing is left)."""
        fault = self.rows.sets.healthy < 0
        return float(self.probability[fault & ~self.rows.now.any(axis=1)].sum())


def believe(model: FaultModel, evidence: Evidence, size: int = DEFAULT_SETS) -> Belief:
    """Belief over about ``size`` sets, grown best-first by posterior mass."""
    sets = grow(model, evidence, size)
    return believe_sets(model, evidence, sets)


def believe_sets(
    model: FaultModel, evidence: Evidence, sets: Sets, *, bounded: bool = True
) -> Belief:
    """Belief over exactly these sets; not ``bounded`` leaves ``left_out`` at 1.

    Raises
    ------
    FactsDisagreeError
        When no hypothesis allows all the facts.
    """
    prior, scale = prior_now(model, evidence)
    rows = follow(evidence, sets)
    joint = log_prior(prior, scale, sets)[rows.owner] + log_likelihood(model, evidence, rows)
    probability, log_evidence = normalised(joint)
    bound = left_out_bound(model, evidence, sets, log_evidence) if bounded else 1.0
    return Belief(rows, probability, log_evidence, bound)


def update(model: FaultModel, belief: Belief, look: Look) -> Belief:
    """Belief after one more finding looked at (its first look): multiply, normalise."""
    with np.errstate(divide="ignore"):
        joint = np.log(belief.probability) + look_log(model, look, belief.rows)
    probability, log_evidence = normalised(joint)
    return Belief(belief.rows, probability, belief.log_evidence + log_evidence, belief.left_out)


def update_reading(
    model: FaultModel, belief: Belief, before: tuple[Measured, ...], measured: Measured
) -> Belief:
    """Belief after one more reading, those ``before`` being part of it already."""
    with np.errstate(divide="ignore"):
        joint = np.log(belief.probability) + added_log(model, before, measured, belief.rows)
    probability, log_evidence = normalised(joint)
    return Belief(belief.rows, probability, belief.log_evidence + log_evidence, belief.left_out)


def normalised(joint: Floats) -> tuple[Floats, float]:
    """exp(joint) summing to one, and the log of what it summed to."""
    top = float(np.max(joint, initial=-np.inf))
    if not np.isfinite(top):
        raise FactsDisagreeError([])
    weight = np.exp(joint - top)
    total = float(weight.sum())
    return weight / total, top + float(np.log(total))


def heaviest_rows(belief: Belief, count: int) -> Belief:
    """The heaviest rows alone, their probabilities summing to one again."""
    keep = np.argsort(-belief.probability, kind="stable")[:count]
    rows = belief.rows
    fewer = Rows(
        Sets(rows.sets.members[keep], rows.sets.healthy[keep]),
        tuple(state[keep] for state in rows.states),
        rows.log_path[keep],
        rows.owner[keep],
    )
    probability = belief.probability[keep] / belief.probability[keep].sum()
    return Belief(fewer, probability, belief.log_evidence, belief.left_out)


def finished(evidence: Evidence) -> bool:
    """Whether the last thing done was a re-run that passed."""
    return bool(evidence.treatments) and evidence.treatments[-1].rerun == WORKS
