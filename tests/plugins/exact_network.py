"""A general exact engine over the same sets: prior, settled variants, findings, answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import Rows
from tubside.pack.fault_model import FaultModel, Finding, Floats
from tubside.pack.prior import total_mass

AGREE = 1e-9
SETS = 300


@dataclass
class Net:
    """A network under construction and what was observed in it."""

    gum: Any
    model: FaultModel
    rows: Rows
    net: Any = None
    seen: dict[str, list[float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Start with the node of hypotheses."""
        self.net = self.gum.BayesNet()

    def add(self, name: str, parents: list[str], table: Floats) -> str:
        """Add a node; ``table`` has an axis for each parent, then the node's own."""
        self.net.add(self.gum.LabelizedVariable(name, "", table.shape[-1]))
        for parent in parents:
            self.net.addArc(parent, name)
        order = [[*parents, name].index(each) for each in list(self.net.cpt(name).names)[::-1]]
        self.net.cpt(name)[:] = np.ascontiguousarray(table.transpose(order))
        return name

    def report(self, name: str, parents: list[str], chance: Floats) -> None:
        """Add a yes/no child that was seen to be yes with these chances."""
        top = max(float(chance.max()), 1e-300)
        yes = chance / top
        self.add(name, parents, np.stack([1.0 - yes, yes], axis=-1))
        self.seen[name] = [0.0, 1.0]

    def posterior(self) -> Floats:
        """Return P(row | everything seen)."""
        engine = self.gum.LazyPropagation(self.net)
        for name, likelihood in self.seen.items():
            engine.addEvidence(name, likelihood)
        engine.addTarget("row")
        engine.makeInference()
        return np.asarray(engine.posterior("row").toarray(), dtype=float)


def prior_of(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """Return P(set) P(path) of each row, variants and their reports summed out one by one."""
    odds, axes, years = model.prior.odds, model.prior.axes, model.age_factor.shape[1]
    if evidence.age_years is not None:
        odds = odds * model.age_factor[:, min(int(evidence.age_years), years - 1)]
    said = [variant_reports(model, evidence, number) for number in range(len(axes))]
    chance = np.empty(len(rows.owner))
    scale = (1.0 - model.prior.healthy.sum()) / (whole_mass(model) - 1.0)
    for row, members in enumerate(rows.sets.members):
        healthy = int(rows.sets.healthy[row])
        value = float(model.prior.healthy[healthy]) if healthy >= 0 else scale
        value *= float(np.prod(odds[members]))
        for i, j, factor in model.prior.leads:
            value *= factor if members[i] and members[j] else 1.0
        for axis, likelihood in zip(axes, said, strict=True):
            inside = members[axis.members]
            fits = axis.applies[inside].all(axis=0) / np.prod(axis.member_share[inside])
            value *= float((axis.shares * likelihood) @ fits)
        chance[row] = value * np.exp(rows.log_path[row])
    return np.asarray(chance / chance.sum())


def whole_mass(model: FaultModel) -> float:
    """Return Z over all sets, which is held against writing them out in the pack's tests."""
    return float(total_mass(model.prior, model.prior.odds[:, None])[0])


def variant_reports(model: FaultModel, evidence: Evidence, axis: int) -> Floats:
    """Return P(answers and what is settled | value of the axis)."""
    size = len(model.prior.axes[axis].shares)
    answers = [
        (a.observer, a.check, a.outcome, a.again)
        for a in evidence.answers
        if model.checks[a.check].axis == axis
    ]
    result = answered(model, answers, size, graded=False)
    for settled, likelihood in evidence.settled:
        result = result * likelihood if settled == axis else result
    return result


def answered(
    model: FaultModel, answers: list[tuple[int, int, int, bool]], size: int, *, graded: bool
) -> Floats:
    """Return P(answers | state), by going through them one state at a time."""
    chances = np.ones(size)
    for state in range(size):
        last: dict[int, int] = {}
        given: dict[tuple[int, int], int] = {}
        for observer, check, outcome, again in answers:
            if outcome < 0:
                continue
            new = again or given.get((observer, check)) != outcome
            error = model.checks[check].error[observer]
            fresh = slip(size, error, state, outcome, graded=graded)
            if observer in last and new:
                echo = model.repeat_errs_same if last[observer] == outcome else 0.0
                fresh = echo + (1.0 - model.repeat_errs_same) * fresh
            chances[state] *= fresh if new else 1.0
            last[observer] = outcome
            given[observer, check] = outcome
    return chances


def slip(size: int, error: float, state: int, outcome: int, *, graded: bool) -> float:
    """Return P(said | state) of a first look."""
    if state == outcome:
        return 1.0 - error
    weight = {o: 4.0 ** -abs(o - state) if graded else 1.0 for o in range(size) if o != state}
    return error * weight[outcome] / sum(weight.values())


def add_findings(net: Net, evidence: Evidence) -> None:
    """Add a latent node for each finding and time at which it was looked at."""
    model = net.model
    parts: dict[tuple[int, int], list[tuple[int, int, int, bool]]] = {}
    times: dict[tuple[int, int], int] = {}
    for a in evidence.answers:
        number = model.checks[a.check].finding
        if number < 0:
            continue
        touched = model.findings[number].touched
        before = evidence.treatments[: a.epoch]
        key = (number, sum(bool(t.clears[touched].any()) for t in before))
        parts.setdefault(key, []).append((a.observer, a.check, a.outcome, a.again))
        times.setdefault(key, a.epoch)
    for (number, segment), answers in parts.items():
        finding = model.findings[number]
        name = f"finding{number}_{segment}"
        net.add(name, ["row"], states_of(model, finding, net.rows, times[number, segment]))
        said = answered(model, answers, len(finding.healthy), graded=finding.graded)
        net.report(f"said_{name}", [name], said)


def states_of(model: FaultModel, finding: Finding, rows: Rows, epoch: int) -> Floats:
    """Return P(state of a finding | row), row by row."""
    table = np.empty((len(rows.owner), len(finding.healthy)))
    for row, members in enumerate(rows.states[epoch]):
        inside = [k for k, cause in enumerate(finding.touched) if members[cause]]
        table[row] = combined(finding, tuple(inside))
        if finding.needs_fault:
            shows = 1.0 - np.prod(1.0 - model.shows[finding.touched[inside]])
            table[row] = shows * table[row] + (1.0 - shows) * finding.healthy
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def combined(finding: Finding, inside: tuple[int, ...]) -> Floats:
    """Return P(state | these of the causes that alter it)."""
    if not inside:
        return finding.healthy
    if not finding.graded:
        return np.asarray(finding.rows[inside[0]])
    healthy = np.maximum([finding.healthy[o:].sum() for o in range(len(finding.healthy))], 1e-12)
    tail = healthy.copy()
    for k in inside:
        row = np.maximum([finding.rows[k][o:].sum() for o in range(len(tail))], 1e-12)
        tail = tail * row / healthy
    for o in range(len(tail)):
        tail[o] = min(1.0, tail[o], *tail[:o])
    return np.asarray(tail - np.append(tail[1:], 0.0))
