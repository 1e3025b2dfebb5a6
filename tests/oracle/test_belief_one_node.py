"""The belief against a general exact engine over the same hypotheses.

One node has the hypotheses as its states: a set of causes and its path through the
remedies. What is latent is a node of its own, what was said or seen a child of it.
The tables are built here from the model's numbers, not with the belief's code; the
engine then has to give the belief's posterior.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from made_models import made_facts
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import FAILS, Evidence
from tubside.diagnosis.facts import Coded, Fact, PanelSeen, Reported, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.hypotheses import Rows, follow
from tubside.diagnosis.likelihood import MENTIONED, NAMED_FIRST
from tubside.diagnosis.reruns import MISREMEMBERED, RUNS_REMEMBERED, STRAY_FAILURE
from tubside.pack.fault_model import FaultModel, Finding, Floats
from tubside.pack.home import pack_folder
from tubside.pack.loading import LoadedPack
from tubside.pack.prior import total_mass
from tubside.panel.matching import Seen, condition_likelihoods
from tubside.panel.reading import read_panel

SETS = 300
AGREE = 1e-9
SEQUENCES = 200


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


def posterior(gum: Any, model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """Return the engine's posterior of each row."""
    net = Net(gum, model, rows)
    net.add("row", [], prior_of(model, evidence, rows))
    add_findings(net, evidence)
    if evidence.complaint is not None or evidence.treatments or evidence.how_often is not None:
        net.add("first", ["row"], first_of(model, rows))
        add_call(net, evidence)
        add_reruns(net, evidence)
        add_how_often(net, evidence)
    return net.posterior()


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


def on_of(model: FaultModel, rows: Rows) -> Floats:
    """Return P(condition is on | row): (N, c)."""
    told = model.complaint
    return np.array(
        [1.0 - (1.0 - told.leak) * np.prod(1.0 - told.q[m], axis=0) for m in rows.sets.members]
    )


def first_of(model: FaultModel, rows: Rows) -> Floats:
    """Return P(first condition | row), healthy rows by the pack's own."""
    on = on_of(model, rows)
    table = np.empty_like(on)
    for row in range(len(on)):
        healthy = int(rows.sets.healthy[row])
        if healthy >= 0:
            table[row] = model.complaint.healthy[healthy]
            continue
        nothing = np.concatenate([[1.0], np.cumprod(1.0 - on[row])])
        table[row] = nothing[:-1] * on[row] / (1.0 - nothing[-1])
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def add_call(net: Net, evidence: Evidence) -> None:
    """Add what was said and seen of the call."""
    complaint = evidence.complaint
    if complaint is None:
        return
    if (complaint.words != 1.0).any():
        net.report("words", ["first"], complaint.words)
    add_named(net, complaint.reported)
    if complaint.panel is not None:
        stops = add_stop(net)
        seen = np.append(complaint.panel[stops], complaint.panel_none)
        net.report("panel", ["stop"], seen)
    last = {(named, 0): True for named in complaint.reported}
    for number, told in enumerate(complaint.symptoms):
        place, said = (told.condition, told.observer), told.if_on > told.if_off
        before = last.get(place)
        last[place] = said
        if before == said and not told.again:
            continue
        echo = model_echo(net.model, before, said=said)
        chance = echo[0] + echo[1] * np.array([told.if_off, told.if_on])
        net.report(f"asked{number}", [condition_node(net, told.condition)], chance)


def model_echo(model: FaultModel, before: bool | None, *, said: bool) -> tuple[float, float]:
    """Return (chance of an echo that says the same, chance of a fresh answer)."""
    if before is None:
        return 0.0, 1.0
    same = model.repeat_errs_same
    return (same if before == said else 0.0), 1.0 - same


def condition_node(net: Net, condition: int) -> str:
    """Return the node of a condition: whether it was there to be noticed, given the first."""
    name = f"on{condition}"
    if name in net.net.names():
        return name
    told = net.model.complaint
    on = on_of(net.model, net.rows)[:, condition]
    table = np.zeros((len(on), len(told.leak), 2))
    for first in range(len(told.leak)):
        hidden = told.stopping[first] and told.stage[condition] > told.stage[first]
        chance = np.zeros_like(on) if hidden or first > condition else on
        table[:, first, 1] = 1.0 if first == condition else chance
    table[:, :, 0] = 1.0 - table[:, :, 1]
    return net.add(name, ["row", "first"], table)


def add_named(net: Net, named: tuple[int, ...]) -> None:
    """Add which of the conditions named came first, and the mentions of the others."""
    if not named:
        return
    said, count = net.model.complaint.said, len(named)
    rest = [(1.0 - NAMED_FIRST) / (count - 1)] * (count - 1) if count > 1 else []
    net.add("way", [], np.array([NAMED_FIRST, *rest] if rest else [1.0, 0.0]))
    ways = max(count, 2)
    first = np.stack([said[:, named[min(w, count - 1)]] for w in range(ways)], axis=-1)
    net.report("said", ["first", "way"], first)
    for position, condition in enumerate(named if count > 1 else ()):
        on, off = MENTIONED
        chance = np.ones((2, len(said), ways))
        for way in range(ways):
            if way != position:
                chance[1, :, way] = on
                chance[0, :, way] = off + (on - off) * said[:, condition]
        parents = [condition_node(net, condition), "first", "way"]
        net.report(f"mention{position}", parents, chance)


def add_stop(net: Net) -> list[int]:
    """Add the condition for which the machine stopped, the last state being none."""
    told = net.model.complaint
    stops = np.flatnonzero(told.stopping).tolist()
    on = on_of(net.model, net.rows)
    table = np.zeros((len(on), len(told.leak), len(stops) + 1))
    for first in range(len(told.leak)):
        open_ = np.ones(len(on))
        for number, stop in enumerate(stops):
            if stop < first:
                continue
            chance = np.ones(len(on)) if stop == first else on[:, stop]
            table[:, first, number] = open_ * chance
            open_ = open_ * (1.0 - chance)
        table[:, first, -1] = open_
    net.add("stop", ["row", "first"], table)
    return stops


def raised_of(model: FaultModel, rows: Rows, epoch: int) -> tuple[Floats, Floats]:
    """Return P(what is left raised the first condition), P(it shows if so): both (N, c)."""
    q, on = model.complaint.q, on_of(model, rows)
    raised, shows = np.zeros_like(on), np.zeros_like(on)
    for row, left in enumerate(rows.states[epoch]):
        some = 1.0 - np.prod(1.0 - q[left], axis=0)
        run = 1.0 - np.prod(1.0 - q[left] * model.shows[left][:, None], axis=0)
        raised[row] = np.minimum(some / on[row], 1.0)
        shows[row] = np.divide(run, some, out=np.zeros_like(run), where=some > 0.0)
    return raised, shows


def add_reruns(net: Net, evidence: Evidence) -> None:
    """Add the last remedy after which what raised the condition was left, and each run."""
    rows, model, count = net.rows, net.model, len(evidence.treatments)
    if not count:
        return
    parts = [raised_of(model, rows, epoch) for epoch in range(1, count + 1)]
    levels = [np.ones_like(parts[0][0]), *(p[0] for p in parts), np.zeros_like(parts[0][0])]
    held = np.stack([a - b for a, b in pairwise(levels)], axis=-1)
    held = np.maximum(held, 0.0)
    net.add("held", ["row", "first"], held / held.sum(axis=-1, keepdims=True))
    for epoch, treatment in enumerate(evidence.treatments, start=1):
        if treatment.rerun is None:
            continue
        fails = np.full((*levels[0].shape, count + 1), STRAY_FAILURE)
        again = STRAY_FAILURE + (1.0 - STRAY_FAILURE) * parts[epoch - 1][1]
        fails[:, :, epoch:] = again[:, :, None]
        for row in np.flatnonzero(rows.sets.healthy >= 0):
            fails[row] = model.healthy_rerun_fails[rows.sets.healthy[row]]
        seen = fails if treatment.rerun == FAILS else 1.0 - fails
        net.report(f"rerun{epoch}", ["row", "first", "held"], seen)


def add_how_often(net: Net, evidence: Evidence) -> None:
    """Add how often it was said to happen, with what raised it as a node of its own."""
    word, model, rows = evidence.how_often, net.model, net.rows
    if word is None:
        return
    raised, shows = raised_of(model, rows, 0)
    net.add("raised", ["row", "first"], np.stack([1.0 - raised, raised], axis=-1))
    said = np.empty((*raised.shape, 2))
    said[:, :, 0] = 1.0 / 3.0
    s = np.clip(shows, 1e-6, 1.0)
    runs = RUNS_REMEMBERED
    some = 1.0 - (1.0 - s) ** runs
    every, once = s**runs / some, runs * s * (1.0 - s) ** (runs - 1) / some
    chance = (every, np.maximum(1.0 - every - once, 0.0), once)[word]
    said[:, :, 1] = (1.0 - MISREMEMBERED) * chance + MISREMEMBERED / 3.0
    for row in np.flatnonzero(rows.sets.healthy >= 0):
        said[row] = model.healthy_how_often[rows.sets.healthy[row], word]
    net.report("often", ["row", "first", "raised"], said)


def compare(gum: Any, model: FaultModel, facts: list[Fact], sets: int = SETS) -> None:
    """Assert that the belief is the engine's posterior, row by row."""
    evidence = evidence_of(model, facts)
    kept = grow(model, evidence, sets)
    belief = believe_sets(model, evidence, kept, bounded=False)
    found = posterior(gum, model, evidence, follow(evidence, kept))
    assert belief.probability == pytest.approx(found, abs=AGREE), facts


def test_every_reported_condition(gum: Any, any_pack: LoadedPack) -> None:
    """Tests each condition reported alone."""
    for condition in range(len(any_pack.model.names.conditions)):
        compare(gum, any_pack.model, [Fact("reported", Reported(condition))])


def test_every_panel_indication(gum: Any, shipped: LoadedPack) -> None:
    """Tests each indication of the demo models, read off the panel by the customer."""
    names, count = shipped.model.names.conditions, 0
    for path in sorted((pack_folder(shipped.pack.family) / "models").glob("*.yaml")):
        panel = read_panel(path, shipped.pack.conditions)
        for name, indication in panel.indications.items():
            seen = Seen(panel.lights(name), indication.sound)
            likelihood = condition_likelihoods(panel, seen, "customer", [*names, "nothing"])
            shown = np.array([likelihood[each] for each in names])
            compare(gum, shipped.model, [Fact(name, PanelSeen(shown, likelihood["nothing"]))])
            count += 1
    assert count > 5


def test_random_facts(gum: Any, any_pack: LoadedPack) -> None:
    """Tests random jobs: calls, panels, looks, repeats, remedies with re-runs, ages, variants."""
    kinds: set[type[Coded]] = set()
    for seed in range(SEQUENCES):
        facts = made_facts(any_pack.model, np.random.default_rng(seed), 7)
        kinds |= {type(fact.coded) for fact in facts}
        compare(gum, any_pack.model, facts)
    assert len(kinds) >= 8
