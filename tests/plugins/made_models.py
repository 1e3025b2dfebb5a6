"""Invented fault models and invented facts, for tests of the belief and the next step."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np

from tubside.diagnosis.hypotheses import FAULT, Sets, healthy_sets, joined
from tubside.pack import complaint as wording
from tubside.pack.ageing import age_factors
from tubside.pack.fault_model import (
    Axis,
    Check,
    Complaint,
    Costs,
    FaultModel,
    Finding,
    Floats,
    Ints,
    Names,
    Prior,
    Remedy,
    Stop,
)
from tubside.pack.prior import solve_odds

Generator = np.random.Generator

COSTS = Costs(
    technician_minute=1.0,
    customer_minute=0.3,
    visit=45.0,
    second_visit=50.0,
    waiting_day=6.0,
    part_wait_days=4.0,
    callback=95.0,
    replacement=750.0,
    disposal=40.0,
    life_shape=2.3,
    life_scale_years=14.3,
)


@dataclass(frozen=True, slots=True)
class Shape:
    """How large an invented model is, and what it has beside plain causes."""

    causes: int = 8
    conditions: int = 6
    findings: int = 7
    remedies: int = 6
    axis: bool = True
    leads: bool = True
    for_health: bool = False
    seed: int = 0


@cache
def made_model(shape: Shape) -> FaultModel:
    """Return an invented model: every number is drawn, every row is a distribution."""
    rng = np.random.default_rng(shape.seed)
    n, c = shape.causes, shape.conditions
    prior = made_prior(rng, n, axis=shape.axis, leads=shape.leads)
    findings = tuple(_finding(rng, number, shape) for number in range(shape.findings))
    remedies = tuple(_remedy(rng, number, n) for number in range(shape.remedies))
    return FaultModel(
        digest="invented",
        names=_names(shape, len(prior.axes), findings),
        prior=prior,
        complaint=made_complaint(rng, n, c),
        shows=np.where(rng.random(n) < 0.4, rng.uniform(0.2, 0.9, n), 1.0),
        healthy_rerun_fails=np.array([0.02, 0.06]),
        healthy_how_often=np.array([[0.1, 0.2, 0.7], [0.1, 0.3, 0.6]]),
        age_factor=age_factors(rng.uniform(0.5, 3.0, n), np.full(12, 1.0 / 12)),
        findings=findings,
        checks=(*_checks(rng, shape), *_axis_checks(len(prior.axes))),
        remedies=remedies,
        stops=(
            Stop("scrap", float("nan"), np.zeros(n, dtype=bool), float("inf")),
            Stop("refer", 180.0, np.arange(n) == n - 1, float("inf")),
            Stop("return", 60.0, np.zeros(n, dtype=bool), 2.0),
        ),
        part_price=np.array([30.0, 120.0]),
        part_carried=np.array([True, False]),
        cover_minutes=np.array([6.0]),
        costs=COSTS,
        repeat_errs_same=0.7,
        stage_right=0.8,
        leads_to=prior.leads,
    )


def made_prior(rng: Generator, n: int, *, axis: bool, leads: bool, second: float = 0.08) -> Prior:
    """Return a solved prior of n causes, some on a variant, some leading to others."""
    weights = rng.dirichlet(np.full(n, 2.0)) * 0.96
    axes, chains = [], []
    if axis:
        members = np.sort(rng.choice(n, min(3, n), replace=False))
        fits = np.array([[1, 0, 0], [0, 1, 1], [1, 1, 0]], dtype=bool)[: len(members)]
        shares = np.array([0.5, 0.3, 0.2])
        axes = [Axis(shares, members, fits, fits @ shares)]
    if leads and n > 4:
        inside = set(axes[0].members.tolist()) if axes else set()
        free = [i for i in range(n) if i not in inside]
        chains = [(free[0], free[1], 6.0)]
        if inside:
            chains.append((int(axes[0].members[0]), free[-1], 4.0))
    empty = Prior(np.ones(n), np.array([0.015, 0.025]), tuple(axes), tuple(chains))
    return solve_odds(weights, second, empty)


def made_complaint(rng: Generator, n: int, c: int) -> Complaint:
    """Return how calls are reported: two conditions a stage, every other one stopping."""
    table = rng.dirichlet(np.full(c, 0.25), size=n) * 0.98 + 0.02 / c
    said = np.eye(c) * 0.9 + 0.1 / c
    leak = rng.uniform(0.001, 0.004, c)
    q = wording.weights_from_first(wording.fit_first(table, said), leak, 0.9)
    fit = wording.first_condition(wording.off_chances(np.eye(n, dtype=bool), q, leak)) @ said
    stages = (c + 1) // 2
    return Complaint(
        q=q,
        leak=leak,
        said=said,
        healthy=rng.dirichlet(np.ones(c), size=2),
        stopping=np.arange(c) % 2 == 0,
        stage=np.arange(c) // 2,
        at_stage=rng.dirichlet(np.ones(stages), size=c),
        fit=fit,
        table=table,
    )


def every_set(n: int) -> Sets:
    """Return the two healthy hypotheses and all non-empty sets of n causes."""
    members = np.array(list(product((False, True), repeat=n)), dtype=bool)[1:]
    return joined([healthy_sets(n), Sets(members, np.full(len(members), FAULT))])


def permuted(model: FaultModel, order: Ints) -> FaultModel:
    """Return the same model with its causes in another order (new place -> old place)."""
    place = np.argsort(order)
    prior = replace(
        model.prior,
        odds=model.prior.odds[order],
        axes=tuple(replace(axis, members=place[axis.members]) for axis in model.prior.axes),
        leads=tuple((int(place[i]), int(place[j]), b) for i, j, b in model.prior.leads),
    )
    told = model.complaint
    return replace(
        model,
        names=replace(model.names, causes=tuple(model.names.causes[i] for i in order)),
        prior=prior,
        complaint=replace(told, q=told.q[order], fit=told.fit[order], table=told.table[order]),
        shows=model.shows[order],
        age_factor=model.age_factor[order],
        findings=tuple(replace(f, touched=place[f.touched]) for f in model.findings),
        remedies=tuple(replace(r, clears=r.clears[:, order]) for r in model.remedies),
        stops=tuple(replace(s, clears=s.clears[order]) for s in model.stops),
    )


def of_few_causes(model: FaultModel, keep: Ints) -> FaultModel:
    """Return a model of some of the causes, their odds unchanged, without axes and leads."""
    place = {int(cause): number for number, cause in enumerate(keep)}

    def cut(finding: Finding) -> Finding:
        inside = [k for k, cause in enumerate(finding.touched) if int(cause) in place]
        touched = np.array([place[int(finding.touched[k])] for k in inside], dtype=np.int64)
        return replace(finding, touched=touched, rows=finding.rows[inside])

    told = model.complaint
    return replace(
        model,
        names=replace(model.names, causes=tuple(model.names.causes[i] for i in keep)),
        prior=Prior(model.prior.odds[keep], model.prior.healthy, (), ()),
        complaint=replace(told, q=told.q[keep], fit=told.fit[keep], table=told.table[keep]),
        shows=model.shows[keep],
        age_factor=model.age_factor[keep],
        findings=tuple(map(cut, model.findings)),
        checks=tuple(c for c in model.checks if c.finding >= 0),
        remedies=tuple(replace(r, clears=r.clears[:, keep], needs=()) for r in model.remedies),
        stops=tuple(replace(s, clears=s.clears[keep]) for s in model.stops),
        leads_to=(),
    )


def _finding(rng: Generator, number: int, shape: Shape) -> Finding:
    k = 2 + number % 3
    touched = rng.choice(shape.causes, min(3, shape.causes), replace=False)
    graded = number % 3 != 2
    healthy = np.linspace(0.05, 0.9, k) / np.linspace(0.05, 0.9, k).sum()
    rows = rng.dirichlet(np.linspace(4.0, 1.0, k), size=len(touched))
    if graded and not shape.for_health:
        rows = np.array([_no_better(row, healthy) for row in rows])
    return Finding(healthy, touched, rows, graded, number % 4 == 1)


def _no_better(row: Floats, healthy: Floats) -> Floats:
    """Return the row cut so that no grade is reached more often than on a healthy machine."""
    tail = np.minimum(np.cumsum(row[::-1])[::-1], np.cumsum(healthy[::-1])[::-1])
    tail = np.append(tail, 0.0)
    tail[0] = 1.0
    return np.asarray(tail[:-1] - tail[1:])


def _checks(rng: Generator, shape: Shape) -> list[Check]:
    return [
        Check(
            finding=number,
            axis=-1,
            minutes=float(rng.uniform(1.0, 6.0)),
            phone=number % 2 == 0,
            site=True,
            by=(0, 1) if number % 2 == 0 else (1,),
            error=(0.1, 0.02),
            cover=0 if number % 4 == 3 else -1,
            needs=(),
        )
        for number in range(shape.findings)
    ]


def _axis_checks(count: int) -> list[Check]:
    return [Check(-1, axis, 2.0, True, True, (0, 1), (0.1, 0.02), -1, ()) for axis in range(count)]


def _remedy(rng: Generator, number: int, n: int) -> Remedy:
    clears = np.zeros((2, n))
    first, second = number % n, (number + 1) % n
    clears[1, first] = rng.uniform(0.8, 1.0) if number else 1.0
    clears[1, second] = rng.uniform(0.3, 0.6) if number % 3 == 1 else 0.0
    by: tuple[int, ...] = (1,)
    if number % 2 == 0:
        clears[0] = clears[1] * 0.7
        by = (0, 1)
    return Remedy(
        clears=clears,
        minutes=float(rng.uniform(3.0, 30.0)),
        rerun_minutes=5.0,
        phone=len(by) == 2,
        site=True,
        by=by,
        cover=0 if number % 4 == 3 else -1,
        parts=(number % 2,) if number % 3 == 2 else (),
        needs=(),
    )


def _names(shape: Shape, axes: int, findings: tuple[Finding, ...]) -> Names:
    def numbered(letter: str, count: int) -> tuple[str, ...]:
        return tuple(f"{letter}{number}" for number in range(count))

    return Names(
        causes=numbered("cause", shape.causes),
        conditions=numbered("condition", shape.conditions),
        stages=numbered("stage", (shape.conditions + 1) // 2),
        findings=numbered("finding", shape.findings),
        outcomes=tuple(numbered("outcome", len(f.healthy)) for f in findings),
        axes=numbered("axis", axes),
        values=(numbered("value", 3),) * axes,
        checks=numbered("check", shape.findings + axes),
        remedies=numbered("remedy", shape.remedies),
        stops=("scrap", "refer", "return"),
        parts=("carried", "ordered"),
        covers=("panel",),
    )
