r"""Why the belief moved: the weight of evidence of each fact for each cause.

.. math:: W(C : E) = 10 \log_{10} \frac{O(C \mid E)}{O(C)}  \quad [\text{dB}]

the change of the odds of C in decibans (Good 1985, "Weight of evidence: a brief
survey", Bayesian Statistics 2:249-270; from memory). Facts are taken in their
order, so the weights of all facts add up to the whole change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.belief import Belief, believe_sets
from tubside.diagnosis.evidence import Measured
from tubside.diagnosis.facts import Fact, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Sets
from tubside.diagnosis.surprise import tail
from tubside.errors import FactsDisagreeError
from tubside.pack.fault_model import FaultModel, Floats

LEAST = 1e-15
ENOUGH_SETS = 500
"""Sets grown to see whether facts can all be true."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """A fact, its weight for each cause (n,) [dB] and how expected it was.

    ``expected`` is P(fact | all facts before it), up to the constant of a soft
    report; it is compared with what the fact would have at best. Of a reading ``tail`` is
    the share of readings that were less expected. ``before`` and ``after`` are the
    chances of the causes still there.
    """

    fact: Fact
    weight_db: Floats
    log_expected: float
    before: Floats  # (n,)
    after: Floats  # (n,)
    tail: float | None = None


def weigh(model: FaultModel, facts: Sequence[Fact], sets: Sets) -> list[Weighed]:
    """Weight of each fact for each cause, over fixed sets."""
    result = []
    before = believe_sets(model, evidence_of(model, ()), sets, bounded=False)
    for count in range(1, len(facts) + 1):
        after = believe_sets(model, evidence_of(model, facts[:count]), sets, bounded=False)
        result.append(_weighed(model, facts[:count], before, after))
        before = after
    return result


def _weighed(model: FaultModel, facts: Sequence[Fact], before: Belief, after: Belief) -> Weighed:
    fact, surprise = facts[-1], None
    if isinstance(fact.coded, Measured) and model.predicting is not None:
        surprise = tail(model, evidence_of(model, facts[:-1]), before, fact.coded)
    expected = after.log_evidence - before.log_evidence
    change = _odds_db(after) - _odds_db(before)
    return Weighed(fact, change, expected, before.now(), after.now(), surprise)


def fewest_that_disagree(
    model: FaultModel, facts: Sequence[Fact], size: int = ENOUGH_SETS
) -> list[Fact]:
    """The fewest facts that cannot all be true, found by leaving each out in turn.

    Sets are grown anew for what remains: those grown under a contradiction are none.
    """
    core = list(facts)
    for fact in facts:
        without = [kept for kept in core if kept is not fact]
        if not _possible(model, without, size):
            core = without
    return core


def _possible(model: FaultModel, facts: Sequence[Fact], size: int) -> bool:
    evidence = evidence_of(model, facts)
    try:
        believe_sets(model, evidence, grow(model, evidence, size), bounded=False)
    except FactsDisagreeError:
        return False
    return True


def _odds_db(belief: Belief) -> Floats:
    chance = np.clip(belief.at_call(), LEAST, 1.0 - LEAST)
    return np.asarray(10.0 * np.log10(chance / (1.0 - chance)))
