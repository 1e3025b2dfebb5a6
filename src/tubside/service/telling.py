"""Advice as plain data: the documented JSON of ``tubside next`` (docs/job-file.md)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.why import Weighed
from tubside.service.advise import Advice
from tubside.service.danger import SAY, to_say
from tubside.service.explain import ToldReading, ToldStep, told_step
from tubside.service.planning import ToldPlan
from tubside.service.wording import surprise_word

SHOWN_STEPS = 12
WEIGHED_CAUSES = 5


@dataclass(frozen=True, slots=True)
class SafetyStep:
    """What comes before any advice once a danger is reported."""

    danger: str
    say: str


def safety_steps(advice: Advice) -> list[SafetyStep]:
    """One step for each danger reported, in a fixed order; gas stands alone."""
    return [SafetyStep(danger, SAY[danger]) for danger in to_say(advice.dangers)]


def told_steps(advice: Advice, count: int = SHOWN_STEPS) -> list[ToldStep]:
    """The best steps, in order."""
    return [told_step(advice, step) for step in advice.steps[:count]]


def as_data(advice: Advice, plan: ToldPlan | None = None) -> dict[str, object]:
    """Everything a program needs: causes, what was left out, steps, weights of facts."""
    return {
        "family": advice.known.pack.family,
        "content_hash": advice.known.model.digest,
        "danger": [{"id": s.danger, "say": s.say} for s in safety_steps(advice)],
        "causes": [
            {"id": c.id, "title": c.title, "probability": c.probability} for c in advice.causes
        ],
        "left_out": advice.belief.left_out,
        "not_showing": advice.not_showing,
        "mended": advice.belief.mended(),
        "steps": [*(_safety(s) for s in safety_steps(advice)), *map(_step, told_steps(advice))],
        "plan": plan,
        "facts": [_fact(advice, w) for w in advice.weighed],
    }


def _safety(step: SafetyStep) -> dict[str, object]:
    return {
        "id": f"make-safe-{step.danger}",
        "title": "Stop and make it safe",
        "kind": "stop",
        "expected_cost": 0.0,
        "minutes": 1.0,
        "who": "customer",
        "where": "phone",
        "cautions": [step.say],
        "why": f"{step.danger} was reported: this comes before any advice",
        "do": step.say,
        "outcomes": [],
        "reading": None,
    }


def _step(step: ToldStep) -> dict[str, object]:
    return {
        "id": step.id,
        "title": step.title,
        "kind": step.kind,
        "expected_cost": round(step.expected_cost, 2),
        "minutes": step.minutes,
        "who": step.who,
        "where": step.where,
        "cautions": [f"{caution.harm}: {caution.do}" for caution in step.cautions],
        "why": step.why,
        "do": step.do if step.say is None else step.say,
        "outcomes": [outcome for outcome, _ in step.outcomes],
        "reading": None if step.reading is None else _reading(step.reading),
    }


def _reading(reading: ToldReading) -> dict[str, object]:
    return {
        "unit": reading.unit,
        "good": reading.good,
        "expects": dict(reading.expects),
        "sheet": list(reading.sheet),
    }


def _fact(advice: Advice, weighed: Weighed) -> dict[str, object]:
    return {
        "fact": weighed.fact.label,
        "weights_db": {
            cause: round(float(weighed.weight_db[index]), 2)
            for cause, index in top_causes(advice, WEIGHED_CAUSES)
        },
        "expected": round(float(np.exp(weighed.log_expected)), 6),
        "tail": None if weighed.tail is None else round(weighed.tail, 4),
        "surprise": None if weighed.tail is None else surprise_word(weighed.tail),
    }


def top_causes(advice: Advice, count: int) -> Sequence[tuple[str, int]]:
    """The likeliest causes and their index, healthy hypotheses left aside."""
    names = advice.known.model.names.causes
    listed = [cause.id for cause in advice.causes if cause.id in names]
    return [(name, names.index(name)) for name in listed[:count]]
