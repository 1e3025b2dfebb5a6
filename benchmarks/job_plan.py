"""The plan of a job: how long it takes, what is proven of it, and how much memory."""

from __future__ import annotations

import resource
import time
from collections.abc import Iterator

from timing import line

from tubside.diagnosis.plan.job_plan import JobPlan, plan_job
from tubside.service.advise import Advice, advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of

CALLS = ("wont_spin", "no_water", "wont_drain")


def report() -> Iterator[str]:
    """Rows for a dozen typical calls and visits of both packs."""
    times = []
    for family in ("top_load", "front_load"):
        for where in ("phone", "site"):
            for reported in CALLS:
                text = f"family: {family}\nreported: [{reported}]\nwhere: {where}\nage_years: 7\n"
                plan, took = _planned(_advice(text))
                times.append(took)
                yield _row(f"{family}, {where}, {reported}", plan)
    yield line("a plan, the slowest of these", max(times), "s", "about 1-2 s")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    yield line("memory of the whole process at its largest", most, "MB", "<= 300 MB")


def _advice(text: str) -> Advice:
    source = parse_job(text)
    return advise(source, knowledge_of(source.job))


def _planned(advice: Advice) -> tuple[JobPlan, float]:
    model, facts = advice.known.model, (advice.evidence, advice.belief)
    start = time.perf_counter()
    plan = plan_job(model, *facts, advice.situation, advice.steps)
    assert plan is not None
    return plan, time.perf_counter() - start


def _row(what: str, plan: JobPlan) -> str:
    proof = plan.proof
    cost = f"{plan.expected:6.1f} +- {plan.error:4.1f}, at least {proof.lower:6.1f} dollars"
    return line(f"{what}: {cost}", 100.0 * proof.gap, "%", "<= 15 %")
