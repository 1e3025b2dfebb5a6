"""What a change of a pack does to advice, told before it is kept.

The typical calls of a family are the commonest ways in which calls begin by the shipped pack:
the condition named and how often it shows, with the share of calls that begin so. For each the
first step and the expected cost are worked out by the pack as it stands and by the changed one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import Fact, HowOften, Reported, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.likelihood import first_table
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.reruns import how_often
from tubside.diagnosis.situation import Situation
from tubside.pack.fault_model import FaultModel, Floats
from tubside.pack.schema import Pack
from tubside.service.danger import customer_may, dangers, left_after
from tubside.service.job_file import JobFile
from tubside.trial.call import drawable

CALLS = 40
SETS = 400
OFTEN = ("every-time", "sometimes", "once")
STOP = "stop, switch off"
NOTHING = "nothing is open"


@dataclass(frozen=True, slots=True)
class TypicalCall:
    """How a call begins, by ids, and the share of all calls that begin so."""

    condition: str
    often: str
    share: float


@dataclass(frozen=True, slots=True)
class Outset:
    """The first step of a call, by kind and id, its title, and the cost expected from there."""

    step: tuple[str, str]
    title: str
    cost: float


@dataclass(frozen=True, slots=True)
class Changed:
    """A call whose first step is another."""

    call: TypicalCall
    title: str
    before: Outset
    after: Outset


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change does to the typical calls of its family.

    Attributes
    ----------
    calls
        How many were looked at, and ``share`` which part of all calls they are.
    changed
        Those whose first step is another, the commonest first.
    cost_before, cost_after
        Mean expected cost, weighted by how common each call is [money of the pack]. Each is
        by its own pack: they tell what is believed, not what comes true.
    """

    calls: int
    share: float
    changed: tuple[Changed, ...]
    cost_before: float
    cost_after: float


def typical_calls(model: FaultModel, count: int = CALLS) -> tuple[TypicalCall, ...]:
    """The commonest beginnings of calls by a pack's own numbers, the commonest first."""
    drawn = drawable(model)
    first = drawn.weights[:, None] * first_table(model, drawn.sets)[0]
    words = [(first * how_often(model, drawn.sets, word)).sum(axis=0) for word in range(len(OFTEN))]
    shares: Floats = np.array(words) @ model.complaint.said / (1.0 - drawn.left_out)
    order = np.argsort(-shares, axis=None, kind="stable")[:count]
    rows, columns = np.unravel_index(order, shares.shape)
    return tuple(
        TypicalCall(model.names.conditions[column], OFTEN[row], float(shares[row, column]))
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
    )


def outset(pack: Pack, model: FaultModel, call: TypicalCall) -> Outset:
    """The first step of a call on the telephone, with the parts that are carried always."""
    condition = model.names.conditions.index(call.condition)
    often = Fact("how often", HowOften(OFTEN.index(call.often)))
    evidence = evidence_of(model, [Fact("reported", Reported(condition)), often])
    found = dangers(JobFile(family=pack.family, reported=[call.condition]), pack)
    situation = Situation(
        on_site=False,
        aboard=model.part_carried.copy(),
        open_covers=frozenset(),
        answered=frozenset(),
        tried=frozenset(),
        customer_checks=customer_may([c.customer_step for c in pack.checks.values()], found),
        customer_remedies=customer_may([r.customer_step for r in pack.remedies.values()], found),
    )
    steps = _steps(model, evidence, situation)
    cost = steps[0].expected_cost if steps else 0.0
    if found:
        return Outset(("stop", "danger"), STOP, cost)
    left = left_after(steps, pack, found)
    return _told(pack, model, left[0]) if left else Outset(("none", ""), NOTHING, cost)


def effect(
    before: tuple[Pack, FaultModel],
    after: tuple[Pack, FaultModel],
    calls: tuple[TypicalCall, ...],
    begun: Callable[[Pack, FaultModel, TypicalCall], Outset] = outset,
) -> Effect:
    """Compare two packs of one family over typical calls; both must have their conditions."""
    pairs = [(begun(*before, call), begun(*after, call)) for call in calls]
    weights = np.array([call.share for call in calls])
    costs = np.array([[one.cost, other.cost] for one, other in pairs])
    mean = weights @ costs / weights.sum()
    changed = tuple(
        Changed(call, after[0].conditions[call.condition].title, one, other)
        for call, (one, other) in zip(calls, pairs, strict=True)
        if one.step != other.step
    )
    return Effect(len(calls), float(weights.sum()), changed, float(mean[0]), float(mean[1]))


def _steps(model: FaultModel, evidence: Evidence, situation: Situation) -> list[Step]:
    belief = believe_sets(model, evidence, grow(model, evidence, SETS))
    return best_steps(model, evidence, belief, situation)


def _told(pack: Pack, model: FaultModel, step: Step) -> Outset:
    """A step by its id, which stays the same where the pack's order does not."""
    if step.kind == "check":
        name = model.names.checks[step.index]
        return Outset((step.kind, name), pack.checks[name].title, step.expected_cost)
    if step.kind == "remedy":
        name = model.names.remedies[step.index]
        return Outset((step.kind, name), pack.remedies[name].title, step.expected_cost)
    if step.kind == "visit":
        return Outset((step.kind, ""), "go there", step.expected_cost)
    name = model.names.stops[step.index]
    return Outset((step.kind, name), pack.stops[name].title, step.expected_cost)
