"""Which customer's step comes next in a check that is done alone: cheapest to the end.

The plan is the one of the telephone, with two differences: no technician listens, so a
minute costs the customer's own time alone; and nothing is measured with a number, which
nobody is there to question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import believe_sets, finished
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.situation import Situation
from tubside.errors import FactsDisagreeError, JobFileError
from tubside.pack.fault_model import Bools, FaultModel
from tubside.pack.schema import Check, Danger, Remedy
from tubside.service.advise import situation_of
from tubside.service.coding import coded_facts
from tubside.service.customer_place import for_plan
from tubside.service.danger import dangers
from tubside.service.job_file import JobSource
from tubside.service.knowledge import Knowledge

SETS = 800
AHEAD = (6, 60)
"""Steps followed further, over how many rows: a page is to come at once."""
KINDS = ("check", "remedy")


@dataclass(frozen=True, slots=True)
class Ask:
    """One step for the customer: a check or a remedy, by id."""

    kind: str
    id: str


@dataclass(frozen=True, slots=True)
class Next:
    """What comes next: a step, or an end: "stop", "cleared", "visit"."""

    ask: Ask | None
    end: str = ""


def next_for_customer(source: JobSource, known: Knowledge) -> Next:
    """The next step of a customer's own check, from the facts of the job.

    After any danger there is no step: the end is "stop". When no safe step is worth its
    minutes, or the facts cannot all be true, the end is "visit".
    """
    if dangers(source.job, known.pack):
        return Next(None, "stop")
    model = alone(known.model)
    try:
        evidence = evidence_of(model, coded_facts(source, known))
        if finished(evidence):
            return Next(None, "cleared")
        belief = believe_sets(model, evidence, grow(model, evidence, SETS))
    except (FactsDisagreeError, JobFileError):
        return Next(None, "visit")
    situation = restricted(situation_of(source, known, ()), known)
    best = worth_asking(best_steps(model, evidence, belief, situation, AHEAD))
    if best is None:
        return Next(None, "visit")
    entries = known.pack.checks if best.kind == "check" else known.pack.remedies
    return Next(Ask(best.kind, list(entries)[best.index]))


def worth_asking(steps: Sequence[Step]) -> Step | None:
    """The best step where it is one for the customer, else None: the visit comes first."""
    return steps[0] if steps and steps[0].kind in KINDS else None


def alone(model: FaultModel) -> FaultModel:
    """The model in which a minute by telephone costs the customer's time and no more."""
    costs = model.costs
    mine = costs.customer_minute - costs.technician_minute  # the two are added by telephone
    return replace(model, costs=replace(costs, customer_minute=mine))


def restricted(situation: Situation, known: Knowledge) -> Situation:
    """The situation of a customer alone, by telephone or before: safe steps without a number."""
    return replace(
        situation,
        on_site=False,
        customer_checks=situation.customer_checks & plain_checks(known),
        customer_remedies=situation.customer_remedies & safe_remedies(known),
    )


def plain_checks(known: Knowledge) -> Bools:
    """Which checks a customer does alone: the same as in the guide, and told in words."""
    checks = known.pack.checks.values()
    return np.array([is_customers(one) and for_plan(known.pack, one) for one in checks], dtype=bool)


def safe_remedies(known: Knowledge) -> Bools:
    """Which remedies a customer does alone, by their fields."""
    return np.array([is_customers(one) for one in known.pack.remedies.values()], dtype=bool)


def is_customers(step: Check | Remedy) -> bool:
    """Whether a step names the customer and states its fields; the pack's rules held them safe."""
    named = "customer" in step.who and step.customer_step is not None
    return named and step.behind is None and step.say is not None


def may_follow(known: Knowledge, ask: Ask, found: Sequence[Danger]) -> bool:
    """Whether a step may be shown now: it is the customer's, and there is no danger."""
    entry: Check | Remedy | None = None
    if ask.kind == "check":
        entry = known.pack.checks.get(ask.id)
    elif ask.kind == "remedy":
        entry = known.pack.remedies.get(ask.id)
    return entry is not None and is_customers(entry) and not found
