"""A practice in words: what came of each step, and at the end what each one was worth."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.evidence import IS, NONE, OVER, WORKS, Measured
from tubside.pack.fault_model import Reading
from tubside.service.coding import outcomes_of
from tubside.service.practice import Practice, name_of, title_of
from tubside.service.wording import figures
from tubside.trial.job import Job, do
from tubside.trial.known_cause import known_cause
from tubside.trial.policies import Advised, belief_of
from tubside.trial.working import MOST_TURNS

ENDS = {
    "works": "the machine runs",
    "scrap": "given up: not worth repairing",
    "return": "handed back to the seller or insurer",
}


@dataclass(frozen=True, slots=True)
class DoneStep:
    """One step that was done: what came of it, and what all has cost so far."""

    name: str
    title: str
    came: str
    cost: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Worth:
    """One step against the best there was: what it is expected to cost more [dollars]."""

    title: str
    best: str
    dearer: float


@dataclass(frozen=True, slots=True)
class Review:
    """The bill beside the advised plan's on the same machine, and what each step was worth."""

    hidden: tuple[str, ...]
    end: str
    came_back: bool
    cost: float
    minutes: float
    trips: int
    advised_cost: float
    advised_minutes: float
    advised_steps: tuple[str, ...]
    known_cost: float
    steps: tuple[Worth, ...]


def done_steps(practice: Practice) -> list[DoneStep]:
    """Every step so far, in order."""
    jobs = (*practice.before, practice.job)[1:]
    return [
        DoneStep(
            name_of(practice.known, step),
            title_of(practice.known, step),
            _came(practice, number),
            job.cost,
            job.minutes,
        )
        for number, (step, job) in enumerate(zip(practice.steps, jobs, strict=True))
    ]


def _came(practice: Practice, number: int) -> str:
    """What came of one step, in the pack's words."""
    step, jobs = practice.steps[number], (*practice.before, practice.job)
    before, after = jobs[number], jobs[number + 1]
    if step.kind in {"remedy", "refer"}:
        return "it runs" if after.evidence.treatments[-1].rerun == WORKS else "it still fails"
    if step.kind == "visit":
        return "you are there"
    if step.kind != "check":
        return "the job ends"
    if len(after.evidence.readings) > len(before.evidence.readings):
        reading = practice.known.model.checks[step.index].reading
        assert reading is not None
        return number_shown(reading, after.evidence.readings[-1])
    if len(after.evidence.answers) == len(before.evidence.answers):
        return "it could not be measured"
    return _answer(practice, after)


def _answer(practice: Practice, after: Job) -> str:
    said = after.evidence.answers[-1]
    if said.outcome < 0:
        return "could not look, or not sure"
    known = practice.known
    check = known.model.names.checks[said.check]
    outcome = outcomes_of(known, check)[said.outcome]
    entry = known.pack.checks[check]
    if entry.finding is not None:
        return known.pack.findings[entry.finding].outcomes[outcome]
    return known.pack.variants[str(entry.variant)].values[outcome].title


def number_shown(reading: Reading, measured: Measured) -> str:
    """What the instrument shows, in the pack's unit."""
    if measured.says == NONE:
        return "no reading"
    shown = f"{figures((measured.value - reading.shift) / reading.slope)} {reading.unit}".strip()
    return {IS: shown, OVER: f"over {shown}"}.get(measured.says, f"under {shown}")


def review(practice: Practice) -> Review:
    """Judge a practice that is over; the advised plan meets the same machine and luck."""
    known, job = practice.known, practice.job
    first = practice.before[0] if practice.before else job
    plan, titles = _advised(practice, first)
    return Review(
        hidden=tuple(known.pack.causes[name].title for name in practice.hidden),
        end=ENDS.get(job.ended, "not ended"),
        came_back=job.came_back,
        cost=job.cost,
        minutes=job.minutes,
        trips=job.trips,
        advised_cost=plan.cost,
        advised_minutes=plan.minutes,
        advised_steps=titles,
        known_cost=known_cause(first).cost,
        steps=tuple(_worth(practice, number) for number in range(len(practice.steps))),
    )


def _advised(practice: Practice, job: Job) -> tuple[Job, tuple[str, ...]]:
    policy, titles = Advised(), []
    while not job.ended and job.turns < MOST_TURNS:
        step = policy.choose(job)
        titles.append(title_of(practice.known, step))
        job = do(job, step)
    return job, tuple(titles)


def _worth(practice: Practice, number: int) -> Worth:
    """Expected cost of one step beyond that of the best, as things stood then."""
    job, step = practice.before[number], practice.steps[number]
    ranked = best_steps(job.shop.model, job.evidence, belief_of(job), job.situation)
    values = {(one.kind, one.index): one.expected_cost for one in ranked}
    best = min(ranked, key=lambda one: one.expected_cost)
    mine = values.get((step.kind, step.index), best.expected_cost + step.cost)
    return Worth(
        title_of(practice.known, step),
        title_of(practice.known, best),
        max(mine - best.expected_cost, 0.0),
    )
