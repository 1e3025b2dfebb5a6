"""Every plan of a tiny problem tried, from the rules alone: no code shared with the engine.

Chances are dicts from frozensets of causes; nothing is kept, bounded or ordered.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import chain, combinations

from tubside.diagnosis.solve.problem import Check, Problem, Remedy

Belief = Mapping[frozenset[int], float]


@dataclass(frozen=True)
class Job:
    """Unnormalised belief, names done, covers open, and how many steps may still be made."""

    belief: Belief
    done: frozenset[str]
    opened: frozenset[int]
    left: int


def parts(causes: frozenset[int]) -> Iterator[frozenset[int]]:
    """Yield every part of a set, the empty one too."""
    return map(
        frozenset, chain.from_iterable(combinations(causes, k) for k in range(len(causes) + 1))
    )


def before(problem: Problem) -> dict[frozenset[int], float]:
    """Return the chances of the sets that are not empty."""
    causes = range(len(problem.prior))
    if problem.single_fault:
        return {frozenset([i]): float(problem.prior[i]) for i in causes}
    chances = {}
    for present in parts(frozenset(causes)):
        chance = 1.0
        for i in causes:
            chance *= problem.prior[i] if i in present else 1.0 - problem.prior[i]
        if present:
            chances[present] = float(chance)
    total = sum(chances.values())
    return {present: chance / total for present, chance in chances.items()}


def outcome_chance(check: Check, outcome: int, present: frozenset[int]) -> float:
    """Return P(outcome | set) by the rule for several causes."""
    if len(present) == 1:
        return float(check.given[next(iter(present))][outcome])

    def this_or_better(o: int) -> float:
        leak = sum(check.otherwise[o:])
        if o >= len(check.otherwise) or leak <= 0:
            return 0.0
        value = leak
        for i in present:
            value *= sum(check.given[i][o:]) / leak
        return float(value)

    return (1.0 if outcome == 0 else this_or_better(outcome)) - this_or_better(outcome + 1)


def best(problem: Problem, job: Job) -> float:
    """Return the least cost from here, times the chance of being here."""
    chance = sum(job.belief.values())
    if chance <= 0.0:
        return 0.0
    if (
        problem.goal == "identified"
        and len({i for s, p in job.belief.items() if p for i in s}) == 1
    ):
        return 0.0
    costs = [chance * stop.cost for stop in problem.stops] or [float("inf")]
    if job.left:
        costs += [after_check(problem, job, check) for check in problem.checks if may(job, check)]
        costs += [after_remedy(problem, job, way) for way in problem.remedies if may(job, way)]
    return min(costs)


def may(job: Job, step: Check | Remedy) -> bool:
    """Whether a step may still be made."""
    return step.repeatable or step.name not in job.done


def moved(problem: Problem, job: Job, step: Check | Remedy) -> tuple[float, Job]:
    """Return the cover's cost of a step, and the job with the step made."""
    shut = step.behind >= 0 and step.behind not in job.opened
    opened = job.opened | ({step.behind} if step.behind >= 0 else set())
    cost = problem.covers[step.behind].open if shut else 0.0
    return cost, replace(job, done=job.done | {step.name}, opened=opened, left=job.left - 1)


def after_check(problem: Problem, job: Job, check: Check) -> float:
    """Return the cost with this check next."""
    cover, later = moved(problem, job, check)
    total = sum(job.belief.values()) * (check.cost + cover)
    for o in range(len(check.outcomes)):
        seen = {s: p * outcome_chance(check, o, s) for s, p in job.belief.items()}
        total += best(problem, replace(later, belief=seen))
    return total


def after_remedy(problem: Problem, job: Job, way: Remedy) -> float:
    """Return the cost with this remedy next."""
    cover, later = moved(problem, job, way)
    left: dict[frozenset[int], float] = {}
    for present, chance in job.belief.items():
        for cleared in parts(present):
            share = chance
            for i in present:
                share *= way.clears[i] if i in cleared else 1.0 - way.clears[i]
            if cleared != present and share > 0:
                left[present - cleared] = left.get(present - cleared, 0.0) + float(share)
    spent = sum(job.belief.values()) * (way.cost + way.rerun_cost + cover)
    return spent + best(problem, replace(later, belief=left))


def least_cost(problem: Problem, steps: int = 99) -> float:
    """Return the expected cost of the best plan of at most so many steps."""
    return best(problem, Job(before(problem), frozenset(), frozenset(), steps))
