"""The steps open now, each as what it costs and what it does to a belief."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence, axis_vectors, confusion, looks, touched_before
from tubside.diagnosis.likelihood import first_believed
from tubside.diagnosis.own_costs import AfterFailing, OwnCosts, own_costs
from tubside.diagnosis.reading_bins import binned
from tubside.diagnosis.situation import (
    CANNOT_LOOK,
    LEAST_APPLIES,
    Situation,
    applies,
    check_minutes,
    may_check,
    may_remedy,
    minute_cost,
    remedy_cost,
    remedy_minutes,
    stop_cost,
    values_believed,
    values_if_there,
)
from tubside.diagnosis.states import seen_table, showing
from tubside.pack.fault_model import Check, FaultModel, Floats, Ints
from tubside.pack.prior import axis_mass


@dataclass(frozen=True, slots=True)
class CheckOption:
    """A check: P(said | row); the last column is "not sure" or "could not look".

    ``finding`` is what it looks at (see :func:`looked_at`).
    """

    index: int
    cost: float
    minutes: float
    finding: int
    said: Floats  # (M, k + 1)


@dataclass(frozen=True, slots=True)
class RemedyOption:
    """A remedy or a referral: what it clears and what the re-run will say."""

    index: int
    cost: float
    minutes: float
    clears: Floats  # (n,)


@dataclass(frozen=True, slots=True)
class Options:
    """Everything open at one place (phone or site) for one set of rows."""

    on_site: bool
    member: Floats  # (M, n)
    share: Floats  # (M, n) member / number of causes
    shows: Floats  # (M,)
    checks: tuple[CheckOption, ...]
    remedies: tuple[RemedyOption, ...]
    refers: tuple[RemedyOption, ...]
    own: OwnCosts
    own_after: OwnCosts  # a row for each remedy and referral used up, and one for none
    after: AfterFailing
    visit_cost: float
    stop_cost: float


def open_options(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation
) -> Options:
    """All steps open in this situation, over the rows of the belief."""
    now = belief.rows.now
    member = now.astype(float)
    count = np.maximum(member.sum(axis=1, keepdims=True), 1.0)
    remedies = _remedies(model, evidence, situation)
    refers = tuple(
        RemedyOption(number, stop.cost, 0.0, stop.clears.astype(float))
        for number, stop in enumerate(model.stops)
        if stop.kind == "refer"
    )
    stop = stop_cost(model, situation.age_years)
    after = AfterFailing(model.shows, stop, model.costs.callback)
    own, own_after = own_costs(*_prices((*remedies, *refers), model.n_causes), after)
    return Options(
        on_site=situation.on_site,
        member=member,
        share=member / count,
        shows=showing(model, now),
        checks=_checks(model, evidence, belief, situation),
        remedies=remedies,
        refers=refers,
        own=own,
        own_after=own_after,
        after=after,
        visit_cost=0.0 if situation.on_site else model.costs.visit,
        stop_cost=stop,
    )


def fewer_rows(options: Options, keep: Ints) -> Options:
    """The same steps over some of the rows."""
    return replace(
        options,
        member=options.member[keep],
        share=options.share[keep],
        shows=options.shows[keep],
        checks=tuple(replace(c, said=c.said[keep]) for c in options.checks),
    )


def without_finding(options: Options, finding: int, index: int) -> Options:
    """Options after a look at one finding: nobody looks at it again at once."""
    kept = (c for c in options.checks if c.index != index and (finding < 0 or c.finding != finding))
    return replace(options, checks=tuple(kept))


def without_remedy(options: Options, used: RemedyOption, kind: str) -> Options:
    """Options after a remedy or a referral was used up: it clears nothing any more."""
    remedies, refers = options.remedies, options.refers
    if kind == "remedy":
        remedies = tuple(r for r in remedies if r.index != used.index)
    else:
        refers = tuple(r for r in refers if r.index != used.index)
    ways = (*remedies, *refers)
    own, own_after = own_costs(*_prices(ways, options.member.shape[1]), options.after)
    return replace(options, remedies=remedies, refers=refers, own=own, own_after=own_after)


def _prices(ways: Sequence[RemedyOption], n: int) -> tuple[Floats, Floats]:
    """Cost of each way (r,) and what it clears (r, n)."""
    clears = np.array([way.clears for way in ways]).reshape(len(ways), n)
    return np.array([way.cost for way in ways]), clears


def _checks(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation
) -> tuple[CheckOption, ...]:
    minute = minute_cost(model, on_site=situation.on_site)
    values = values_believed(model, evidence, belief)
    first = first_believed(model, evidence, belief.rows, belief.probability)
    seen_as = looked_at(model)
    technician_saw = {seen_as[c] for c, who in situation.answered if who == 1}
    result = []
    for number, check in enumerate(model.checks):
        seen = (seen_as[number] >= 0 and seen_as[number] in technician_saw) or (
            check.reading is not None and model.predicting is None
        )
        chance = float(applies(values, check.needs)) * runs(model, first, check.stage)
        if seen or chance < LEAST_APPLIES or not may_check(situation, number, check):
            continue
        minutes = check_minutes(model, check, situation)
        said = said_table(model, evidence, belief, check, situation.observer)
        usable = chance * (1.0 - CANNOT_LOOK[situation.observer])
        lost = np.full((len(said), 1), 1.0 - usable)
        table = np.concatenate([said * usable, lost], axis=1)
        result.append(CheckOption(number, minutes * minute, minutes, seen_as[number], table))
    return tuple(result)


def looked_at(model: FaultModel) -> list[int]:
    """What each check looks at, as a number: its finding, then quantities; -1 for an axis."""
    quantities = sorted({c.reading.quantity for c in model.checks if c.reading is not None})
    first = len(model.findings)
    return [
        c.finding if c.reading is None else first + quantities.index(c.reading.quantity)
        for c in model.checks
    ]


def runs(model: FaultModel, first: Floats, stage: int) -> float:
    """P(a stage can be run on this machine now | first condition believed).

    A machine that stops at a gate before it (power, lock, drain) cannot spin.
    """
    if stage < 0 or model.gates is None:
        return 1.0
    complaint = model.complaint
    shut = complaint.stopping & model.gates[complaint.stage] & (complaint.stage < stage)
    return float(1.0 - first[shut].sum())


def said_table(
    model: FaultModel, evidence: Evidence, belief: Belief, check: Check, observer: int
) -> Floats:
    """P(said | row, what was already said of the same finding): (N, k); bins of a reading."""
    if check.reading is not None:
        return binned(model, evidence, belief, check, observer).said
    if check.finding < 0:
        axis = model.prior.axes[check.axis]
        weight = axis_mass(axis, belief.rows.sets.members) * axis.shares
        state = weight * axis_vectors(model, evidence)[check.axis]
        graded = False
    else:
        state = seen_table(model, check.finding, belief.rows.now)
        today = touched_before(model, evidence, check.finding, len(evidence.treatments))
        for look in looks(model, evidence):
            if look.finding == check.finding and look.segment == today:
                state = state * look.likelihood
        graded = model.findings[check.finding].graded
    total = state.sum(axis=1, keepdims=True)
    state = np.where(total > 0, state / np.maximum(total, 1e-300), 1.0 / state.shape[1])
    return np.asarray(state @ confusion(state.shape[1], check.error[observer], graded=graded))


def _remedies(
    model: FaultModel, evidence: Evidence, situation: Situation
) -> tuple[RemedyOption, ...]:
    result = []
    values = values_if_there(model, evidence)
    for number, remedy in enumerate(model.remedies):
        if not may_remedy(situation, number, remedy):
            continue
        clears = remedy.clears[situation.observer] * applies(values, remedy.needs)
        if clears.any():
            cost = remedy_cost(model, remedy, situation)
            minutes = remedy_minutes(model, remedy, situation)
            result.append(RemedyOption(number, cost, minutes, clears))
    return tuple(result)
