"""Pack -> :class:`FaultModel`: ids become indices, words become arrays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tubside.pack import complaint as wording
from tubside.pack import family_schema, schema
from tubside.pack.ageing import age_factors
from tubside.pack.compiling_reading import compiled_reading
from tubside.pack.fault_model import (
    HEALTHY_IDS,
    HOW_OFTEN,
    OBSERVERS,
    Axis,
    Bools,
    Check,
    Complaint,
    Costs,
    FaultModel,
    Finding,
    Floats,
    Machine,
    Names,
    Prior,
    Remedy,
    Stop,
)
from tubside.pack.machine_compiling import compile_machine
from tubside.pack.prior import solve_odds


@dataclass(frozen=True, slots=True)
class Solved:
    """The slow part of compiling, worth keeping: odds, noisy-OR weights, and the machine."""

    odds: Floats  # (n,)
    q: Floats  # (n, c)
    machine: Machine | None = None


def compile_pack(pack: schema.Pack, digest: str, solved: Solved | None = None) -> FaultModel:
    """Compile a checked pack; ``solved`` from an earlier compile of the same digest."""
    names = names_of(pack)
    prior = _prior(pack, names, solved)
    return FaultModel(
        digest=digest,
        names=names,
        prior=prior,
        complaint=_complaint(pack, names, solved),
        shows=np.array([c.shows for c in pack.causes.values()]),
        healthy_rerun_fails=np.array([pack.healthy[h].rerun_fails for h in HEALTHY_IDS]),
        healthy_how_often=_healthy_how_often(pack),
        age_factor=age_factors(
            np.array([c.ageing for c in pack.causes.values()]), np.array(pack.age_mix)
        ),
        findings=tuple(_finding(f, names) for f in pack.findings.values()),
        checks=tuple(_check(c, pack, names) for c in pack.checks.values()),
        remedies=tuple(_remedy(r, names) for r in pack.remedies.values()),
        stops=tuple(_stop(s, pack) for s in pack.stops.values()),
        part_price=np.array([(p.price_low + p.price_high) / 2 for p in pack.parts.values()]),
        part_carried=np.array([p.carried for p in pack.parts.values()], dtype=bool),
        cover_minutes=np.array([c.open_minutes + c.close_minutes for c in pack.covers.values()]),
        costs=_costs(pack.costs),
        repeat_errs_same=pack.words.repeat_errs_same,
        stage_right=pack.words.stage_right,
        leads_to=prior.leads,
        gates=np.array([stage.gate for stage in pack.stages.values()], dtype=bool),
        observer_error=(pack.words.customer_error, pack.words.technician_error),
        machine=compile_machine(pack) if solved is None else solved.machine,
    )


def names_of(pack: schema.Pack) -> Names:
    """Ids in index order; conditions in the order in which they show."""
    stages = list(pack.stages)
    order = sorted(
        pack.conditions,
        key=lambda c: (stages.index(pack.conditions[c].stages[0]), pack.conditions[c].rank),
    )
    return Names(
        causes=tuple(pack.causes),
        conditions=tuple(order),
        stages=tuple(stages),
        findings=tuple(pack.findings),
        outcomes=tuple(tuple(f.outcomes) for f in pack.findings.values()),
        axes=tuple(pack.variants),
        values=tuple(tuple(v.values) for v in pack.variants.values()),
        checks=tuple(pack.checks),
        remedies=tuple(pack.remedies),
        stops=tuple(pack.stops),
        parts=tuple(pack.parts),
        covers=tuple(pack.covers),
    )


def said_matrix(pack: schema.Pack, conditions: Sequence[str]) -> Floats:
    """P(said | first condition): stated confusions, a floor everywhere, rest on itself."""
    size = len(conditions)
    said = np.full((size, size), pack.words.said_floor)
    for row, name in enumerate(conditions):
        for other, chance in pack.conditions[name].said_as.items():
            said[row, conditions.index(other)] += chance
        said[row, row] = 0.0
        said[row, row] = 1.0 - said[row].sum()
    return said


def _prior(pack: schema.Pack, names: Names, solved: Solved | None) -> Prior:
    weights = np.array([c.weight for c in pack.causes.values()])
    healthy = np.array([pack.healthy[h].weight for h in HEALTHY_IDS])
    total = weights.sum() + healthy.sum()
    leads = tuple(
        (names.causes.index(name), names.causes.index(follower), factor)
        for name, cause in pack.causes.items()
        for follower, factor in cause.leads_to.items()
    )
    empty = Prior(weights, healthy / total, _axes(pack, names), leads)
    if solved is not None:
        return Prior(solved.odds, empty.healthy, empty.axes, leads)
    return solve_odds(weights / total, pack.second_fault_share, empty)


def _axes(pack: schema.Pack, names: Names) -> tuple[Axis, ...]:
    axes = []
    for name, variant in pack.variants.items():
        shares = np.array([value.share for value in variant.values.values()])
        members = [c for c, cause in pack.causes.items() if name in cause.variants]
        applies = np.array(
            [[v in pack.causes[c].variants[name] for v in variant.values] for c in members],
            dtype=bool,
        ).reshape(len(members), len(shares))
        index = np.array([names.causes.index(c) for c in members], dtype=np.int64)
        axes.append(Axis(shares, index, applies, applies @ shares))
    return tuple(axes)


def _complaint(pack: schema.Pack, names: Names, solved: Solved | None) -> Complaint:
    said = said_matrix(pack, names.conditions)
    leak = np.array([pack.conditions[c].leak for c in names.conditions])
    table = np.array([_row(c.reported_as, names.conditions) for c in pack.causes.values()])
    healthy = np.array([_row(pack.healthy[h].reported_as, names.conditions) for h in HEALTHY_IDS])
    if solved is None:
        first = wording.fit_first(table, said)
        q = wording.weights_from_first(first, leak, pack.words.noticed)
    else:
        q = solved.q
    alone = np.eye(len(pack.causes), dtype=bool)
    fit = wording.first_condition(wording.off_chances(alone, q, leak)) @ said
    stages = [[names.stages.index(s) for s in pack.conditions[c].stages] for c in names.conditions]
    return Complaint(
        q=q,
        leak=leak,
        said=said,
        healthy=healthy,
        stopping=np.array([pack.conditions[c].kind == "stopping" for c in names.conditions]),
        stage=np.array([s[0] for s in stages]),
        at_stage=_at_stage(stages, len(names.stages), pack.words.stage_right),
        fit=fit,
        table=table,
    )


def _at_stage(stages: list[list[int]], count: int, right: float) -> Floats:
    """P(stage named | first condition): its own stages share ``right``, all share the rest."""
    table = np.full((len(stages), count), (1.0 - right) / count)
    for row, own in enumerate(stages):
        table[row, own] += right / len(own)
    return table


def _row(shares: Mapping[str, float], conditions: Sequence[str]) -> list[float]:
    total = sum(shares.values())
    return [shares.get(name, 0.0) / total for name in conditions]


def _healthy_how_often(pack: schema.Pack) -> Floats:
    return np.array([[pack.healthy[h].how_often[w] for w in HOW_OFTEN] for h in HEALTHY_IDS])  # type: ignore[index]  # keys are the literal HOW_OFTEN


def _finding(finding: schema.Finding, names: Names) -> Finding:
    order = list(finding.causes)
    if finding.kinds:
        order.sort(key=finding.dominance.index)
    rows = np.array([finding.causes[c] for c in order]).reshape(-1, len(finding.outcomes))
    return Finding(
        healthy=np.array(finding.healthy) / sum(finding.healthy),
        touched=np.array([names.causes.index(c) for c in order], dtype=np.int64),
        rows=rows / rows.sum(axis=1, keepdims=True),
        graded=bool(finding.graded),
        needs_fault=finding.needs_fault,
    )


def _check(check: schema.Check, pack: schema.Pack, names: Names) -> Check:
    defaults = (pack.words.customer_error, pack.words.technician_error)
    errors = tuple(
        check.error.get(observer, default)  # type: ignore[call-overload]  # OBSERVERS holds the literals
        for observer, default in zip(OBSERVERS, defaults, strict=True)
    )
    return Check(
        finding=-1 if check.finding is None else names.findings.index(check.finding),
        axis=-1 if check.variant is None else names.axes.index(check.variant),
        minutes=check.minutes,
        phone=check.where in {"phone", "either"},
        site=check.where in {"site", "either"},
        by=tuple(OBSERVERS.index(who) for who in check.who),
        error=(errors[0], errors[1]),
        cover=-1 if check.behind is None else names.covers.index(check.behind),
        needs=_needs(check.needs, names),
        stage=-1 if check.at_stage is None else names.stages.index(check.at_stage),
        reading=None if check.reading is None else compiled_reading(check.reading, names.causes),
    )


def _needs(needs: Mapping[str, Sequence[str]], names: Names) -> tuple[tuple[int, Bools], ...]:
    result = []
    for axis, values in needs.items():
        index = names.axes.index(axis)
        result.append((index, np.array([v in values for v in names.values[index]], dtype=bool)))
    return tuple(result)


def _remedy(remedy: schema.Remedy, names: Names) -> Remedy:
    clears = np.zeros((2, len(names.causes)))
    for cause, chance in remedy.clears.items():
        column = names.causes.index(cause)
        clears[0, column] = chance.customer or 0.0
        clears[1, column] = chance.technician or 0.0
    return Remedy(
        clears=clears,
        minutes=remedy.minutes,
        rerun_minutes=remedy.rerun_minutes,
        phone=remedy.where in {"phone", "either"},
        site=remedy.where in {"site", "either"},
        by=tuple(OBSERVERS.index(who) for who in remedy.who),
        cover=-1 if remedy.behind is None else names.covers.index(remedy.behind),
        parts=tuple(names.parts.index(p) for p in remedy.parts),
        needs=_needs(remedy.needs, names),
    )


def _stop(stop: schema.Stop, pack: schema.Pack) -> Stop:
    clears = [stop.trade is not None and stop.trade in c.cleared_by for c in pack.causes.values()]
    return Stop(
        kind=stop.kind,
        cost=float("nan") if stop.cost is None else stop.cost,
        clears=np.array(clears, dtype=bool),
        up_to_years=float("inf") if stop.up_to_years is None else stop.up_to_years,
    )


def _costs(costs: family_schema.Costs) -> Costs:
    return Costs(**{name: getattr(costs, name) for name in Costs.__dataclass_fields__})
