"""Ways to choose the next step: ours, and those that the trade uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from tubside.diagnosis.solve.policies.advised import Advised
from tubside.diagnosis.solve.policies.ahead import Sight
from tubside.diagnosis.solve.policies.asking import Informative, Myopic
from tubside.diagnosis.solve.policies.field import field_of
from tubside.diagnosis.solve.policies.lists import ChanceOverCost, Cheapest, Likeliest
from tubside.diagnosis.solve.policies.policy import Policy
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import Tables, tables_of

PolicyName = Literal["advised", "pc", "cheapest", "likeliest", "informative", "myopic"]

MAKERS: dict[PolicyName, Callable[[Problem, Sight], Policy]] = {
    "advised": Advised,
    "pc": ChanceOverCost,
    "cheapest": Cheapest,
    "likeliest": Likeliest.of,
    "informative": Informative,
    "myopic": Myopic,
}
"""Every policy that needs no search, by name."""


def policy_of(name: PolicyName, problem: Problem, tables: Tables | None = None) -> Policy:
    """Return a policy for a problem; ``tables`` saves making them again."""
    return MAKERS[name](problem, Sight.of(field_of(problem, tables or tables_of(problem))))
