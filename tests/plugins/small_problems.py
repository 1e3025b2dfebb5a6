"""Small problems of tests, what a policy costs on them, and its order."""

from __future__ import annotations

import json
from typing import Any

from tubside.diagnosis.solve.policies import PolicyName, policy_of
from tubside.diagnosis.solve.policies.following import (
    follow,
    plan_of,
)
from tubside.diagnosis.solve.policies.value import policy_value
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.problem_file import parse_problem


def problem_of(**fields: object) -> Problem:
    """Return a problem from the fields of a file."""
    return parse_problem(json.dumps(fields))


def remedies(**each: tuple[float, dict[str, float]]) -> dict[str, Any]:
    """Return the ``remedies`` of a file: name -> cost and what it clears."""
    return {name: {"cost": cost, "clears": clears} for name, (cost, clears) in each.items()}


def value(problem: Problem, name: PolicyName) -> float:
    """Return what a policy costs on average."""
    return policy_value(problem, policy_of(name, problem)).cost


def order(problem: Problem, name: PolicyName) -> list[str]:
    """Return the remedies and stops in the order in which a policy tries them."""
    plan = plan_of(problem, follow(problem, policy_of(name, problem)), least=0.0)
    found = []
    while plan is not None:
        kind, index = plan.step.kind, plan.step.index
        assert kind != "check"
        found.append((problem.stops if kind == "stop" else problem.remedies)[index].name)
        plan = plan.branches[0].plan if plan.branches else None
    return found
