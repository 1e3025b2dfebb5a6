"""What a job may need, drawn from its plan, and the jobs of a day put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.plan.staged import staged_job
from tubside.diagnosis.plan.walking import problem_of, walk_plan
from tubside.diagnosis.situation import Situation
from tubside.errors import KitError
from tubside.kit.problem import Ints
from tubside.pack.fault_model import FaultModel

EFFORT = 80
"""Steps of the plan decided for the draws: fewer than for its cost, as only parts are told."""
WALKS, LEAST = 400, 100
"""The most and the least walks: each is one set of parts that the job may need."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Part kinds that the job needs to end, one set a walk of its plan, equally likely.

    ``by_phone`` is the share of walks that end without a visit: they need none.
    """

    needs: tuple[frozenset[int], ...]
    by_phone: float


def drawn_needs(
    model: FaultModel,
    evidence: Evidence,
    belief: Belief,
    situation: Situation,
    seed: int = 1,
) -> Drawn:
    """Walk the plan from here as if every part were aboard, and note what it fits.

    With all aboard the plan fits what it would fit if it had it; what then lies in the
    workshop decides whether the job ends, and that is the kit's question.
    """
    whole = replace(situation, aboard=np.ones(len(situation.aboard), dtype=bool))
    staged = staged_job(model, evidence, belief, whole)
    walked = walk_plan(problem_of(staged, seed), None, EFFORT, WALKS, LEAST)
    phone = sum(walk.how == "works" and walk.visits == 0 for walk in walked.walks)
    return Drawn(tuple(walk.fitted for walk in walked.walks), phone / len(walked.walks))


def together(
    jobs: Sequence[Sequence[Mapping[int, int]]], parts: int, scenarios: int, seed: int
) -> Ints:
    """Units needed by job, scenario and part (J, S, P), jobs drawn independently.

    Each job's needs are dealt out evenly before they are shuffled, so that every one of
    them comes as often as it should, to within one scenario.

    Parameters
    ----------
    jobs
        For each job what it may need (part -> units), equally likely.
    parts, scenarios
        P and S.
    seed
        Of the shuffles.

    Examples
    --------
    >>> needs = together([[{0: 1}, {}], [{1: 2}]], 2, 4, 1)
    >>> needs.shape, needs.sum(axis=1).tolist()
    ((2, 4, 2), [[2, 0], [0, 8]])
    """
    if not jobs or any(not needs for needs in jobs):
        msg = "each job has at least one set of parts that it may need, be it empty"
        raise KitError(msg)
    told = np.zeros((len(jobs), scenarios, parts), dtype=np.int64)
    for job, needs in enumerate(jobs):
        rng = np.random.default_rng([seed, job])
        turn = (np.arange(scenarios) * len(needs)) // scenarios
        if len(needs) > scenarios:
            turn = rng.permutation(len(needs))[:scenarios]
        for scenario, number in enumerate(rng.permutation(turn)):
            for part, units in needs[number].items():
                told[job, scenario, part] += units
    return told
