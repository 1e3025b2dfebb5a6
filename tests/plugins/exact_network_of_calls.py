"""The call, what stopped, re-runs and how often, as nodes of a general exact engine."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from exact_network import Net
from tubside.diagnosis.evidence import FAILS, Evidence
from tubside.diagnosis.hypotheses import Rows
from tubside.diagnosis.likelihood import MENTIONED, NAMED_FIRST
from tubside.diagnosis.reruns import MISREMEMBERED, RUNS_REMEMBERED, STRAY_FAILURE
from tubside.pack.fault_model import FaultModel, Floats


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
