"""The advice followed to its end, against the best plan found by trying all of them.

Problems are small enough to be solved exactly: four causes that may come and go, five
remedies that may fail and three poor checks, each done once.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from tiny_models import at_the_machine, one_fault, tiny_model
from tubside.diagnosis import options as opened
from tubside.diagnosis.ahead import two_step
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.next_step import Place, Step, by_cost, one_step
from tubside.diagnosis.options import Options, open_options, without_finding, without_remedy
from tubside.pack.fault_model import Floats

Branch = tuple[float, Floats, Options]
NEVER = 1e-12


@dataclass
class Plan:
    """Costs of plans from a belief on; what was found is kept."""

    callback: float
    kept: dict[tuple[object, ...], float] = field(default_factory=dict)

    def best(self, options: Options, belief: Floats) -> float:
        """Return the cost of the best plan of all."""
        key = state(options, belief)
        if key not in self.kept:
            self.kept[key] = min(
                [options.stop_cost, *(self.after(options, belief, s) for s in steps(options))]
            )
        return self.kept[key]

    def after(self, options: Options, belief: Floats, step: tuple[str, int]) -> float:
        """Return the cost of a step and of the best plan after each outcome."""
        cost, branches = outcomes(options, belief, step, self.callback)
        return cost + sum(p * self.best(later, after) for p, after, later in branches)


@dataclass
class Followed(Plan):
    """Costs of following the advice."""

    def best(self, options: Options, belief: Floats) -> float:
        """Return the cost of doing what is advised, until the job ends."""
        key = state(options, belief)
        if key not in self.kept:
            step = advised(options, belief, self.callback)
            self.kept[key] = (
                options.stop_cost if step is None else self.after(options, belief, step)
            )
        return self.kept[key]


def state(options: Options, belief: Floats) -> tuple[object, ...]:
    """Return what a plan may depend on: what is left to do, and the belief."""
    left = (tuple(c.index for c in options.checks), tuple(r.index for r in options.remedies))
    return (*left, len(options.refers), tuple(np.round(belief, 10)))


def steps(options: Options) -> list[tuple[str, int]]:
    """Return all steps that are open."""
    found = [("check", c.index) for c in options.checks]
    found += [("remedy", r.index) for r in options.remedies]
    return found + [("refer", r.index) for r in options.refers]


def outcomes(
    options: Options, belief: Floats, step: tuple[str, int], callback: float
) -> tuple[float, list[Branch]]:
    """Return the cost of a step, and chance, belief and options after each outcome."""
    kind, index = step
    if kind == "check":
        check = next(c for c in options.checks if c.index == index)
        later = without_finding(options, check.finding, index)
        weights = [belief * column for column in check.said.T]
        return check.cost, [(w.sum(), w / w.sum(), later) for w in weights if w.sum() > NEVER]
    ways = options.remedies if kind == "remedy" else options.refers
    way = next(r for r in ways if r.index == index)
    stays = belief * (1.0 - way.clears[options.member.argmax(axis=1)])
    fails = stays * options.shows
    cost = way.cost + callback * float((stays - fails).sum())
    if fails.sum() <= NEVER:
        return cost, []
    return cost, [(fails.sum(), fails / fails.sum(), without_remedy(options, way, kind))]


def advised(options: Options, belief: Floats, callback: float) -> tuple[str, int] | None:
    """Return the step advised two steps ahead, None for ending the job."""
    where = Place(options, None, callback)
    ending = Step("scrap", 0, options.stop_cost, 0.0, options.stop_cost)
    found = [two_step(where, belief, s) for s in [*one_step(where, belief), ending] if s.pays]
    best = min(found, key=by_cost)
    return None if best.kind == "scrap" else (best.kind, best.index)


def gap(seed: int) -> float:
    """Return by how much following the advice is dearer than the best plan."""
    rng = np.random.default_rng(seed)
    remedies = [(float(rng.uniform(5, 60)), {i: float(rng.uniform(0.7, 1.0))}) for i in range(4)]
    remedies.append((float(rng.uniform(30, 90)), {0: 0.9, 1: 0.9}))
    checks = [
        (float(rng.uniform(1, 8)), rng.dirichlet(np.full(2 + k % 2, 0.6), size=4).tolist())
        for k in range(3)
    ]
    model = tiny_model(rng.dirichlet(np.full(4, 2.0)).tolist(), remedies, checks, 300.0)
    model = replace(model, shows=rng.uniform(0.6, 1.0, 4))
    belief = one_fault(model)
    options = open_options(model, Evidence(), belief, at_the_machine(model))
    best = Plan(model.costs.callback).best(options, belief.probability)
    followed = Followed(model.costs.callback).best(options, belief.probability)
    assert followed >= best - 1e-9
    return followed / best - 1.0


def gaps(count: int, monkeypatch: pytest.MonkeyPatch) -> Floats:
    """Return the gaps of some problems in which every look succeeds."""
    monkeypatch.setattr(opened, "CANNOT_LOOK", (0.0, 0.0))
    return np.array([gap(seed) for seed in range(count)])


def test_advice_is_near_the_best_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests a few problems: under three percent dearer on average, none a tenth."""
    found = gaps(8, monkeypatch)
    assert found.mean() < 0.03
    assert found.max() < 0.1


@pytest.mark.soak
def test_advice_is_near_the_best_plan_at_length(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests many such problems."""
    found = gaps(100, monkeypatch)
    assert found.mean() < 0.02
    assert np.quantile(found, 0.9) < 0.05
    assert found.max() < 0.15
