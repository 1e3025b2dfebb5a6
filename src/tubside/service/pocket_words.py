"""The words a phone needs to tell a step, cautions first, and what it must stop at."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Check, Remedy
from tubside.service.coding import outcomes_of
from tubside.service.danger import SAY
from tubside.service.expecting import on_the_sheet
from tubside.service.knowledge import Knowledge

Json = dict[str, Any]
VISIT = {
    "title": "Book a visit",
    "how": "Agree on the call-out fee and an arrival window, then go.",
}


def words_json(known: Knowledge) -> Json:
    """Titles, cautions and instructions, in the model's order of causes, checks and so on."""
    pack, names = known.pack, known.model.names
    checks = [_check(known, name, pack.checks[name]) for name in names.checks]
    remedies = [_step(pack.remedies[name]) for name in names.remedies]
    used = {caution for step in (*checks, *remedies) for caution in step["cautions"]}
    return {
        "family": pack.title,
        "causes": [pack.causes[name].title for name in names.causes],
        "healthy_ids": list(HEALTHY_IDS),
        "healthy": [pack.healthy[name].title for name in HEALTHY_IDS],
        "conditions": [pack.conditions[name].title for name in names.conditions],
        "checks": checks,
        "remedies": remedies,
        "stops": [_stop(known, name) for name in names.stops],
        "visit": VISIT,
        "parts": [pack.parts[name].title for name in names.parts],
        "cautions": {
            name: {"harm": pack.cautions[name].harm, "do": pack.cautions[name].do}
            for name in sorted(used)
        },
    }


def _step(step: Check | Remedy) -> Json:
    return {
        "title": step.title,
        "how": step.how,
        "say": step.say,
        "cautions": list(step.cautions),
    }


def _check(known: Knowledge, name: str, check: Check) -> Json:
    outcomes = outcomes_of(known, name)
    answers = _answers(known, check, outcomes)
    told = {**_step(check), "outcomes": list(outcomes), "answers": answers}
    reading = known.model.checks[known.model.names.checks.index(name)].reading
    sheet = () if reading is None else on_the_sheet(known, reading.quantity)
    return {**told, "sheet": list(sheet)} if sheet else told


def _answers(known: Knowledge, check: Check, outcomes: Sequence[str]) -> list[str]:
    """The outcomes in plain words; none of a reading."""
    if check.finding is not None:
        told = known.pack.findings[check.finding].outcomes
        return [told[outcome] for outcome in outcomes]
    if check.variant is not None:
        values = known.pack.variants[check.variant].values
        return [values[outcome].title for outcome in outcomes]
    return []


def _stop(known: Knowledge, name: str) -> Json:
    stop = known.pack.stops[name]
    return {"title": stop.title, "how": stop.how, "cautions": []}


def danger_rules(known: Knowledge) -> Json:
    """What reports a danger, by number, and what is then said."""
    pack, names = known.pack, known.model.names
    conditions = {
        str(number): pack.conditions[name].danger
        for number, name in enumerate(names.conditions)
        if pack.conditions[name].danger is not None
    }
    checks = {
        str(number): _by_outcome(known, name)
        for number, name in enumerate(names.checks)
        if _by_outcome(known, name)
    }
    context = {
        name: [names.checks.index(flag.check), flag.if_true, flag.if_false]
        for name, flag in pack.context.items()
    }
    return {"conditions": conditions, "checks": checks, "context": context, "say": dict(SAY)}


def _by_outcome(known: Knowledge, name: str) -> dict[str, str]:
    """Outcome -> danger of a check; most have none."""
    finding = known.pack.checks[name].finding
    return {} if finding is None else dict(known.pack.findings[finding].danger)
