"""Random facts of a job on a made model: calls, looks, repeats, remedies."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import Answer, Symptom, Treatment
from tubside.diagnosis.facts import (
    Age,
    Coded,
    Fact,
    HowOften,
    PanelSeen,
    Reported,
    Settled,
    SymptomSaid,
    Words,
)
from tubside.pack.fault_model import (
    FaultModel,
)

Generator = np.random.Generator


def made_facts(model: FaultModel, rng: Generator, count: int = 6) -> list[Fact]:
    """Return up to ``count`` + 3 random facts of a job that can all be true, in an order."""
    facts = _call(model, rng)
    settled = False
    for _ in range(int(rng.integers(0, count + 1))):
        kind = rng.choice(["answer", "answer", "answer", "symptom", "remedy", "age", "settled"])
        if kind == "settled" and (settled or not model.prior.axes):
            continue
        settled = settled or kind == "settled"
        facts.append(_random(model, rng, str(kind)))
    return [Fact(f"fact {number}", coded) for number, coded in enumerate(facts)]


def _call(model: FaultModel, rng: Generator) -> list[Coded]:
    c = len(model.complaint.leak)
    facts: list[Coded] = []
    named = rng.choice(c, int(rng.integers(0, min(3, c) + 1)), replace=False)
    facts += [Reported(int(condition)) for condition in named]
    if rng.random() < 0.3:
        facts.append(Words(model.complaint.at_stage[:, 0].copy()))
    if rng.random() < 0.4:
        facts.append(PanelSeen(rng.uniform(0.001, 1.0, c), float(rng.uniform(0.001, 1.0))))
    if rng.random() < 0.4:
        facts.append(HowOften(int(rng.integers(3))))
    return facts


def _random(model: FaultModel, rng: Generator, kind: str) -> Coded:
    observer = int(rng.integers(2))
    again = bool(rng.random() < 0.3)
    if kind == "answer":
        check = int(rng.integers(len(model.checks)))
        return Answer(check, int(rng.integers(-1, outcomes(model, check))), observer, 0, again)
    if kind == "symptom":
        on, off = (0.92, 0.06) if rng.random() < 0.5 else (0.08, 0.94)
        condition = int(rng.integers(len(model.complaint.leak)))
        return SymptomSaid(Symptom(condition, on, off, observer, again))
    if kind == "remedy":
        remedy = model.remedies[int(rng.integers(len(model.remedies)))]
        rerun = (None, 0, 0, 1)[int(rng.integers(4))]
        return Treatment(remedy.clears.max(axis=0), rerun)
    if kind == "age":
        return Age(float(rng.integers(15)))
    axis = int(rng.integers(len(model.prior.axes)))
    value = int(rng.integers(len(model.prior.axes[axis].shares)))
    return Settled(axis, np.eye(len(model.prior.axes[axis].shares))[value])


def outcomes(model: FaultModel, check: int) -> int:
    """Return how many outcomes a check has."""
    one = model.checks[check]
    if one.finding >= 0:
        return len(model.findings[one.finding].healthy)
    return len(model.prior.axes[one.axis].shares)
