"""Short ways to a belief in tests: over given sets, summed by set, with one more answer."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.belief import (
    Belief,
    believe_sets,
    update,
)
from tubside.diagnosis.evidence import Look
from tubside.diagnosis.facts import (
    Coded,
    Fact,
    evidence_of,
)
from tubside.diagnosis.hypotheses import Sets
from tubside.pack.fault_model import FaultModel, Floats


def facts_of(*coded: Coded) -> list[Fact]:
    """Return the coded facts with their numbers as labels."""
    return [Fact(f"fact {number}", one) for number, one in enumerate(coded)]


def over_sets(model: FaultModel, sets: Sets, *coded: Coded) -> Belief:
    """Return the belief over these sets, without the bound."""
    return believe_sets(model, evidence_of(model, facts_of(*coded)), sets, bounded=False)


def by_set(belief: Belief, sets: Sets) -> Floats:
    """Return the probability of each set, its paths together."""
    total = np.zeros(len(sets))
    np.add.at(total, belief.rows.owner, belief.probability)
    return total


def knowing(model: FaultModel, belief: Belief, check: int, outcome: int) -> Belief:
    """Return the belief after knowing the state of a check's finding for sure."""
    finding = model.checks[check].finding
    state = np.eye(len(model.findings[finding].healthy))[outcome]
    return update(model, belief, Look(finding, 0, 0, state))
