"""What following a policy costs on average: going through every state, or by samples."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.solve.policies.following import (
    MOST_STATES,
    Followed,
    TooManyStatesError,
    ending,
    follow,
)
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.policies.sampling import PolicyValue, sampled_value
from tubside.diagnosis.solve.problem import Problem


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
