"""What following a policy costs on average, estimated from jobs drawn at random."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from tubside.diagnosis.solve.policies.field import Ints
from tubside.diagnosis.solve.policies.following import (
    Choice,
    Made,
    at_once,
    choices,
    ending,
)
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.problem import Floats, Problem
from tubside.diagnosis.solve.state import State, is_done, start

SAMPLES = 1000
AT_ONCE = 50
"""Jobs that are drawn together; a batch that the time cuts short is not counted."""
LONGEST = 400
"""Steps after which a drawn job is ended by the cheapest stop."""
ENOUGH = 20
"""Jobs that must come to a state before their mean cost from there is told."""
IN_95 = 1.96


@dataclass(frozen=True, slots=True)
class PolicyValue:
    """What a policy costs on average.

    Parameters
    ----------
    cost : float
        Expected cost; of the policy ended by the cheapest stop where that is hardly ever
        reached (chance below 1e-12, ``not_followed`` in all).
    half_width : float
        Half of the 95 % interval, 0 where nothing was sampled.
    sampled : bool
        Whether the cost is an estimate from samples, and so no proof.
    states : int
        States in which the policy chose.
    jobs : int
        Jobs that were drawn.
    hurried : bool
        Whether time ran out in the first batch, which another policy then brought to its end.
    """

    cost: float
    half_width: float
    sampled: bool
    states: int
    not_followed: float = 0.0
    jobs: int = 0
    hurried: bool = False


@dataclass(frozen=True, slots=True)
class Hurry:
    """Until when to go on, and who takes over in the first batch when time is up."""

    going: Callable[[], bool]
    otherwise: Policy


@dataclass(frozen=True, slots=True)
class Sampled:
    """What drawn jobs cost, and the mean from each state that enough of them came to."""

    value: PolicyValue
    made: Made


def sampled_value(
    problem: Problem, policy: Policy, rng: np.random.Generator, samples: int = SAMPLES
) -> PolicyValue:
    """Return the mean cost of jobs drawn at random, with its 95 % interval."""
    return sample(problem, policy, rng, samples).value


def sample(
    problem: Problem,
    policy: Policy,
    rng: np.random.Generator,
    samples: int = SAMPLES,
    hurry: Hurry | None = None,
) -> Sampled:
    """Draw jobs and follow the policy through each.

    The same generator gives the same jobs; with ``hurry`` there may be fewer of them. A
    state that several come to is asked for once.
    """
    walk = _Walk(problem, policy, rng, hurry)
    costs: list[Floats] = []
    visits: dict[State, list[Floats]] = {}
    while (count := min(AT_ONCE, samples - len(costs) * AT_ONCE)) > 0 and not walk.hurried:
        batch = walk.batch(count, first=not costs)
        if batch is None:
            break
        costs.append(batch[0])
        for state, rest in batch[1]:
            visits.setdefault(state, []).append(rest)
    cost = np.concatenate(costs)
    half = IN_95 * float(cost.std(ddof=1)) / np.sqrt(len(cost))
    value = PolicyValue(
        float(cost.mean()), float(half), True, len(walk.known), 0.0, len(cost), walk.hurried
    )
    means = {state: np.concatenate(rests) for state, rests in visits.items()}
    made = {s: (walk.known[s], float(r.mean())) for s, r in means.items() if len(r) >= ENOUGH}
    return Sampled(value, made)


Walked = tuple[Floats, list[tuple[State, Floats]]]
"""What each job cost, and what those that came to a state cost from there on."""


@dataclass(slots=True)
class _Walk:
    problem: Problem
    policy: Policy
    rng: np.random.Generator
    hurry: Hurry | None
    known: dict[State, Choice] = field(default_factory=dict)
    hurried: bool = False

    def batch(self, count: int, *, first: bool) -> Walked | None:
        """Jobs from start to end, those in the same state moved on together; None if cut short."""
        cost = np.zeros(count)
        now: dict[State, Ints] = {start(self.problem): np.arange(count)}
        visits: list[tuple[State, Ints, Floats]] = []
        for _ in range(LONGEST):
            now = {state: jobs for state, jobs in now.items() if not is_done(self.problem, state)}
            if not now:
                break
            if not self.asked(list(now), first=first):
                return None
            visits += [(state, jobs, cost[jobs]) for state, jobs in now.items()]
            now = self.onward(now, cost)
        for jobs in now.values():
            cost[jobs] += ending(self.problem)
        return cost, [(state, cost[jobs] - before) for state, jobs, before in visits]

    def asked(self, states: list[State], *, first: bool) -> bool:
        """Know what is done in each of these states; False if time ran out before that."""
        new = [state for state in states if state not in self.known]
        count = at_once(self.problem)
        for place in range(0, len(new), count):
            policy = self.policy
            if self.hurry is not None and not self.hurry.going():
                if not first:
                    return False
                self.hurried, policy = True, self.hurry.otherwise
            self.known |= choices(self.problem, policy, new[place : place + count])
        return True

    def onward(self, now: Mapping[State, Ints], cost: Floats) -> dict[State, Ints]:
        """Pay for the step and draw what comes of it."""
        later: dict[State, list[Ints]] = {}
        for state, jobs in now.items():
            choice = self.known[state]
            cost[jobs] += choice.cost
            drawn = _drawn(choice, len(jobs), self.rng)
            for place, (_, _, then) in enumerate(choice.branches):
                if (drawn == place).any():
                    later.setdefault(then, []).append(jobs[drawn == place])
        return {state: np.concatenate(parts) for state, parts in later.items()}


def _drawn(choice: Choice, count: int, rng: np.random.Generator) -> Ints:
    """Which branch each of ``count`` jobs takes; one past the last: it works."""
    edges = np.cumsum([chance for _, chance, _ in choice.branches])
    return np.asarray(np.searchsorted(edges, rng.random(count), side="right"))
