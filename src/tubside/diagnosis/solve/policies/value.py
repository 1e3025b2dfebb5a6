"""What following a policy costs on average: going through every state, or by samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.solve.policies.field import Ints
from tubside.diagnosis.solve.policies.following import (
    MOST_STATES,
    Choice,
    Followed,
    Made,
    TooManyStatesError,
    choices,
    ending,
    follow,
)
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.problem import Floats, Problem
from tubside.diagnosis.solve.state import State, is_done, start

SAMPLES = 1000
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
    """

    cost: float
    half_width: float
    sampled: bool
    states: int
    not_followed: float = 0.0


def policy_value(
    problem: Problem,
    policy: Policy,
    rng: np.random.Generator | None = None,
    most_states: int = MOST_STATES,
) -> PolicyValue:
    """Return the expected cost of a policy.

    Goes through every state that the policy can meet, those of equal belief once. With
    more than ``most_states`` of them, 1000 jobs are drawn with ``rng`` instead.

    Raises
    ------
    TooManyStatesError
        If there are more states than that and no ``rng``.

    Examples
    --------
    Own numbers for the rule of Kadane & Simon 1977 (see the tests):

    >>> from tubside.diagnosis.solve.policies import policy_of
    >>> from tubside.diagnosis.solve.problem import Remedy
    >>> ways = tuple(Remedy(str(i), c, np.eye(3)[i]) for i, c in enumerate([6.0, 3.0, 4.0]))
    >>> prior = np.array([0.5, 0.3, 0.2])
    >>> three = Problem("", "working", True, ("a", "b", "c"), prior, (), ways, (), ())
    >>> round(policy_value(three, policy_of("pc", three)).cost, 12)
    8.0
    """
    try:
        return value_of_followed(problem, follow(problem, policy, most_states))
    except TooManyStatesError:
        if rng is None:
            raise
    return sampled_value(problem, policy, rng)


def value_of_followed(problem: Problem, followed: Followed) -> PolicyValue:
    """Return the expected cost of a policy that was followed through every state."""
    lost = followed.not_followed
    cost = followed.cost + lost * ending(problem)
    return PolicyValue(cost, 0.0, sampled=False, states=followed.states, not_followed=lost)


def sampled_value(
    problem: Problem, policy: Policy, rng: np.random.Generator, samples: int = SAMPLES
) -> PolicyValue:
    """Return the mean cost of jobs drawn at random, with its 95 % interval."""
    return sample(problem, policy, rng, samples).value


@dataclass(frozen=True, slots=True)
class Sampled:
    """What drawn jobs cost, and the mean from each state that enough of them came to."""

    value: PolicyValue
    made: Made


def sample(
    problem: Problem, policy: Policy, rng: np.random.Generator, samples: int = SAMPLES
) -> Sampled:
    """Draw jobs and follow the policy through each.

    Jobs that stand in the same state are moved on together, so that the policy is asked
    once for all of them.
    """
    cost = np.zeros(samples)
    now: dict[State, Ints] = {start(problem): np.arange(samples)}
    visits: list[tuple[State, Choice, Ints, Floats]] = []
    while now:
        met = [state for state in now if not is_done(problem, state)]
        later: dict[State, list[Ints]] = {}
        for state, choice in choices(problem, policy, met).items():
            jobs = now[state]
            visits.append((state, choice, jobs, cost[jobs]))
            cost[jobs] += choice.cost
            drawn = _drawn(choice, len(jobs), rng)
            for place, (_, _, then) in enumerate(choice.branches):
                if (drawn == place).any():
                    later.setdefault(then, []).append(jobs[drawn == place])
        now = {state: np.concatenate(parts) for state, parts in later.items()}
    half = IN_95 * float(cost.std(ddof=1)) / np.sqrt(samples)
    value = PolicyValue(float(cost.mean()), float(half), sampled=True, states=len(visits))
    enough = [visit for visit in visits if len(visit[2]) >= ENOUGH]
    return Sampled(value, {s: (c, float((cost[j] - b).mean())) for s, c, j, b in enough})


def _drawn(choice: Choice, count: int, rng: np.random.Generator) -> Ints:
    """Which branch each of ``count`` jobs takes; one past the last: it works."""
    edges = np.cumsum([chance for _, chance, _ in choice.branches])
    return np.asarray(np.searchsorted(edges, rng.random(count), side="right"))
