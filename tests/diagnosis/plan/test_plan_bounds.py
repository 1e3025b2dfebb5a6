"""The bound below every plan and the plan above it, against the best plan found by force."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from made_facts import made_facts
from made_models import Shape, made_model
from tiny_models import at_the_machine, one_fault, tiny_model
from tubside.diagnosis import options as opened
from tubside.diagnosis.belief import believe
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.plan.exact import exact_value
from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.proof import lower_bound
from tubside.diagnosis.plan.staged import REFUSED, Staged, staged_job
from tubside.diagnosis.plan.stand import at_start
from tubside.diagnosis.plan.walking import problem_of, walk_plan
from tubside.diagnosis.situation import CANNOT_LOOK
from tubside.pack.fault_model import FaultModel

PART = 1
NEVER = 1e-12
Chances = tuple[float, ...]


def random_job(seed: int) -> FaultModel:
    """Return three causes, three remedies (the last wants a part not aboard), two looks."""
    rng = np.random.default_rng(seed)
    remedies = [(float(rng.uniform(3, 50)), {i: float(rng.uniform(0.7, 1.0))}) for i in range(3)]
    looks = [
        (float(rng.uniform(0.5, 6)), rng.dirichlet(np.full(2, 0.5), size=3).tolist())
        for _ in range(2)
    ]
    model = tiny_model(rng.dirichlet(np.full(3, 2.0)).tolist(), remedies, looks, 400.0)
    wants = replace(model.remedies[2], parts=(PART,))
    return replace(model, remedies=(*model.remedies[:2], wants), shows=rng.uniform(0.7, 1.0, 3))


def staged_of(model: FaultModel, *, on_site: bool, aboard: bool = False) -> Staged:
    """Return the staged problem of a new job, the dear part aboard or not."""
    parts = np.array([True, aboard])
    situation = at_the_machine(model, on_site=on_site, aboard=parts)
    return staged_job(model, Evidence(), one_fault(model), situation)


@dataclass(frozen=True)
class At:
    """Where the forced search stands: nothing of it is taken from the code under test."""

    site: bool
    part: bool  # aboard
    bought: bool
    looked: frozenset[tuple[int, bool]]  # check, on site
    told: frozenset[int]
    tried: frozenset[tuple[int, bool]]


@dataclass
class Force:
    """The cheapest plan of all, by trying every step after every outcome."""

    model: FaultModel
    kept: dict[tuple[At, Chances], float] = field(default_factory=dict)

    def best(self, at: At, belief: Chances) -> float:
        """Return the least expected cost from a belief that sums to one."""
        key = (at, tuple(round(p, 9) for p in belief))
        if key not in self.kept:
            self.kept[key] = min([self.stop, *self.steps(at, belief)])
        return self.kept[key]

    @property
    def stop(self) -> float:
        """Return what ending the job costs, a new machine: nothing else is open here."""
        return self.model.costs.replacement + self.model.costs.disposal

    def minute(self, at: At) -> float:
        """Return what a minute costs."""
        costs = self.model.costs
        return costs.technician_minute + (0.0 if at.site else costs.customer_minute)

    def steps(self, at: At, belief: Chances) -> list[float]:
        """Return the cost with each step first."""
        costs, price = self.model.costs, float(self.model.part_price[PART])
        found = [self.look(at, belief, k) for k in range(2) if k not in at.told]
        found += [self.remedy(at, belief, r) for r in range(3) if (r, at.site) not in at.tried]
        if not at.site:
            found.append(costs.visit + self.best(replace(at, site=True), belief))
        if not at.part:
            wait = costs.second_visit + costs.waiting_day * costs.part_wait_days
            if not at.site:
                wait = costs.waiting_day * (costs.part_wait_days - costs.booking_days)
            there = replace(at, part=True, bought=True)
            found.append(wait + costs.restocking_share * price + self.best(there, belief))
        return found

    def look(self, at: At, belief: Chances, check: int) -> float:
        """Return the cost with a look first; without an answer it may be taken on site."""
        if (check, at.site) in at.looked:
            return np.inf
        cost = self.model.checks[check].minutes * self.minute(at)
        lost = CANNOT_LOOK[int(at.site)]
        after = replace(at, looked=at.looked | {(check, at.site)})
        value = cost + lost * self.best(after, belief)
        after = replace(after, told=at.told | {check})
        for column in self.model.findings[check].rows.T:
            weight = [p * float(chance) for p, chance in zip(belief, column, strict=True)]
            chance = sum(weight)
            if chance > NEVER:
                share = tuple(w / chance for w in weight)
                value += (1.0 - lost) * chance * self.best(after, share)
        return value

    def remedy(self, at: At, belief: Chances, number: int) -> float:
        """Return the cost with a remedy first; a fault that hides comes back."""
        if number == 2 and not (at.site and at.part):
            return np.inf
        remedy = self.model.remedies[number]
        cost = remedy.minutes * self.minute(at)
        if number == 2:
            kept = 1.0 - self.model.costs.restocking_share if at.bought else 1.0
            cost += kept * float(self.model.part_price[PART])
        refused = REFUSED[int(at.site)]
        after = replace(at, tried=at.tried | {(number, at.site)})
        value = cost + (refused * self.best(after, belief) if refused else 0.0)
        left = [p * (1.0 - c) for p, c in zip(belief, remedy.clears[int(at.site)], strict=True)]
        fails = [p * float(s) for p, s in zip(left, self.model.shows, strict=True)]
        hides = sum(
            (p - f) * self.back(i, after) for i, (p, f) in enumerate(zip(left, fails, strict=True))
        )
        value += (1.0 - refused) * hides
        chance = sum(fails)
        if chance > NEVER:
            share = tuple(f / chance for f in fails)
            later = replace(after, told=frozenset())  # what was seen is of before the remedy
            value += (1.0 - refused) * chance * self.best(later, share)
        return float(value)

    def back(self, cause: int, at: At) -> float:
        """Return the cost of a cause that seemed cleared: known then, on another visit."""
        costs = self.model.costs
        return max(costs.callback, costs.visit + self.alone(cause, (cause, True) in at.tried))

    def alone(self, cause: int, tried: bool) -> float:
        """Return the cost of one cause known on site: each has one remedy."""
        if tried:
            return self.stop
        remedy, costs = self.model.remedies[cause], self.model.costs
        price = remedy.minutes * costs.technician_minute
        if cause == 2:
            price += float(self.model.part_price[PART]) + costs.second_visit
            price += costs.waiting_day * costs.part_wait_days
        shows = float(self.model.shows[cause])
        again = max(costs.callback, costs.visit + self.stop)
        left = shows * self.stop + (1.0 - shows) * again
        return min(self.stop, price + (1.0 - float(remedy.clears[1, cause])) * left)


def optimum(model: FaultModel, *, on_site: bool) -> float:
    """Return the cost of the best plan of a new job."""
    nothing: frozenset[tuple[int, bool]] = frozenset()
    at = At(on_site, False, False, nothing, frozenset(), nothing)
    return Force(model).best(at, tuple(one_fault(model).probability.tolist()))


def known_cost(staged: Staged) -> float:
    """Return the mean cost if what is wrong were known."""
    return float(Known(staged).rows(at_start(staged)) @ staged.weight)


def policy(staged: Staged) -> float:
    """Return the exact cost of the plan's own steps."""
    walked = walk_plan(problem_of(staged, 1), None, 40)
    value = exact_value(walked.walker, walked.root, 50_000)
    assert value is not None
    return value


@pytest.mark.parametrize("on_site", [True, False])
@pytest.mark.parametrize("seed", range(5))
def test_bound_best_plan_and_plan_stand_in_order(seed: int, on_site: bool) -> None:
    """Tests lower bound <= best plan by force <= the plan, and the plan not far above it."""
    model = random_job(seed)
    staged = staged_of(model, on_site=on_site)
    best = optimum(model, on_site=on_site)
    assert lower_bound(staged, Known(staged)) <= best + 1e-9
    assert best <= policy(staged) + 1e-9
    assert policy(staged) <= 1.15 * best


@pytest.mark.soak
@pytest.mark.parametrize("on_site", [True, False])
def test_bound_best_plan_and_plan_at_length(on_site: bool) -> None:
    """Tests the same on many jobs: the plan within a tenth of the best one on average."""
    ratios = []
    for seed in range(100, 180):
        model = random_job(seed)
        staged = staged_of(model, on_site=on_site)
        best = optimum(model, on_site=on_site)
        assert lower_bound(staged, Known(staged)) <= best + 1e-9
        ratios.append(policy(staged) / best)
        assert ratios[-1] >= 1.0 - 1e-9
    assert np.mean(ratios) < 1.1


@pytest.mark.parametrize("on_site", [True, False])
def test_bound_below_the_plan_on_invented_models(on_site: bool) -> None:
    """Tests sixty random jobs on models with double faults, covers, variants and random facts."""
    for seed in range(60):
        model = made_model(Shape(causes=3 + seed % 2, findings=2, remedies=3, seed=seed % 12))
        rng = np.random.default_rng(seed)
        evidence = evidence_of(model, made_facts(model, rng, 3))
        situation = at_the_machine(model, on_site=on_site, aboard=model.part_carried, age_years=4.0)
        staged = staged_job(model, evidence, believe(model, evidence, 60), situation)
        problem = problem_of(staged, 1)
        walked = walk_plan(problem, None, 10, least=2)
        value = exact_value(walked.walker, walked.root, 400)
        if value is not None:
            assert lower_bound(staged, problem.known) <= value + 1e-9


def test_a_free_perfect_look_reaches_knowing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that then the plan, and the bound, cost what the job costs with the cause known."""
    monkeypatch.setattr(opened, "CANNOT_LOOK", (0.0, 0.0))
    looks = [(0.0, np.eye(3).tolist())]
    remedies = [(20.0, {0: 0.9}), (30.0, {1: 1.0}), (40.0, {2: 0.8})]
    model = tiny_model([0.5, 0.3, 0.2], remedies, looks, 400.0)
    staged = staged_of(model, on_site=True)
    by_hand = 0.5 * (20 + 0.1 * 400) + 0.3 * 30 + 0.2 * (40 + 0.2 * 400)
    assert known_cost(staged) == pytest.approx(by_hand)
    assert lower_bound(staged, Known(staged)) == pytest.approx(by_hand)
    assert policy(staged) == pytest.approx(by_hand)


@pytest.mark.parametrize("on_site", [True, False])
@pytest.mark.parametrize("seed", range(10))
def test_bound_never_rises_with_what_helps(seed: int, on_site: bool) -> None:
    """Tests the cost with the cause known: a part more aboard, cheaper trips and endings."""
    model = random_job(seed)
    before = known_cost(staged_of(model, on_site=on_site))
    helped = [staged_of(model, on_site=on_site, aboard=True)]
    cheaper = (
        replace(model.costs, second_visit=10.0),
        replace(model.costs, visit=20.0),
        replace(model.costs, replacement=200.0),
    )
    helped += [staged_of(replace(model, costs=c), on_site=on_site) for c in cheaper]
    assert all(known_cost(staged) <= before + 1e-9 for staged in helped)
    assert known_cost(helped[0]) < before


def test_walks_agree_with_the_exact_cost() -> None:
    """Tests that the mean of many walks lies within four standard errors of the exact cost."""
    for seed in range(6):
        staged = staged_of(random_job(seed), on_site=seed % 2 == 0)
        walked = walk_plan(problem_of(staged, seed), None, 10**9, most=400)
        exact = exact_value(walked.walker, walked.root, 50_000)
        assert exact is not None
        costs = np.array([walk.cost for walk in walked.walks])
        spread = float(costs.std(ddof=1) / np.sqrt(len(costs)))
        assert abs(float(costs.mean()) - exact) <= 4.0 * spread
        assert abs(walked.mean - exact) <= 4.0 * walked.error + 0.02 * exact
        assert walked.error <= spread


def test_same_seed_same_walks() -> None:
    """Tests that walks depend on the problem, the seed and the effort alone."""
    one, other = (
        walk_plan(problem_of(staged_of(random_job(3), on_site=False), 7), None, 60)
        for _ in range(2)
    )
    assert [walk.cost for walk in one.walks] == [walk.cost for walk in other.walks]
