"""From the facts of a job to belief and ranked next steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import Belief, believe_sets, finished
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.facts import Fact, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.situation import Situation
from tubside.diagnosis.states import showing
from tubside.diagnosis.why import Weighed, fewest_that_disagree, weigh
from tubside.errors import FactsDisagreeError, JobFileError, Problem
from tubside.pack.fault_model import HEALTHY_IDS, OBSERVERS, TECHNICIAN, Bools
from tubside.pack.schema import Danger
from tubside.service.coding import coded_facts
from tubside.service.danger import customer_may, dangers, left_after
from tubside.service.job_file import FactLine, JobFile, JobSource
from tubside.service.knowledge import Knowledge
from tubside.strict_yaml import or_one_of

SETS = 5000
WEIGHED_SETS = 800
"""Sets over which the weight of each fact is worked out: it is told to 0.1 dB."""


@dataclass(frozen=True, slots=True)
class CauseChance:
    """A cause, or one of the two ways of there being none, and its probability."""

    id: str
    title: str
    probability: float


@dataclass(frozen=True, slots=True)
class Advice:
    """All that is said about a job, computed from one pack and one list of facts."""

    known: Knowledge
    job: JobFile
    facts: tuple[Fact, ...]
    evidence: Evidence
    belief: Belief
    situation: Situation
    dangers: tuple[Danger, ...]
    causes: tuple[CauseChance, ...]
    steps: tuple[Step, ...]
    weighed: tuple[Weighed, ...]
    not_showing: float


def advise(source: JobSource, known: Knowledge, size: int = SETS) -> Advice:
    """Belief, ranked steps and the weight of each fact.

    Raises
    ------
    JobFileError
        When the file names what the pack does not know.
    FactsDisagreeError
        When the facts cannot all be true; it names the fewest that disagree.
    """
    facts = coded_facts(source, known)
    model = known.model
    evidence = evidence_of(model, facts)
    found = dangers(source.job, known.pack)
    situation = situation_of(source, known, tuple(found))
    sets = grow(model, evidence, size)
    try:
        belief = believe_sets(model, evidence, sets)
    except FactsDisagreeError:
        clash = fewest_that_disagree(model, facts)
        raise FactsDisagreeError([fact.label for fact in clash]) from None
    steps = [] if finished(evidence) else best_steps(model, evidence, belief, situation)
    return Advice(
        known=known,
        job=source.job,
        facts=tuple(facts),
        evidence=evidence,
        belief=belief,
        situation=situation,
        dangers=tuple(found),
        causes=tuple(cause_chances(known, belief, now=not finished(evidence))),
        steps=tuple(left_after(steps, known.pack, found)),
        weighed=tuple(weigh(model, facts, grow(model, evidence, WEIGHED_SETS))),
        not_showing=_not_showing(known, belief),
    )


def cause_chances(known: Knowledge, belief: Belief, *, now: bool) -> list[CauseChance]:
    """Every cause with its probability, and the two ways of there being none, by rank."""
    chance = belief.now() if now else belief.at_call()
    causes = [
        CauseChance(name, known.pack.causes[name].title, float(p))
        for name, p in zip(known.model.names.causes, chance, strict=True)
    ]
    healthy = [
        CauseChance(name, known.pack.healthy[name].title, float(p))
        for name, p in zip(HEALTHY_IDS, belief.healthy(), strict=True)
    ]
    return sorted([*causes, *healthy], key=lambda c: (-c.probability, c.id))


def situation_of(source: JobSource, known: Knowledge, found: Sequence[Danger]) -> Situation:
    """What may be done now, from the job file."""
    job, pack = source.job, known.pack
    on_site = job.where == "site"
    return Situation(
        on_site=on_site,
        aboard=_aboard(source, known),
        open_covers=frozenset(_open_covers(job, known)),
        answered=frozenset(_answered(job, known)),
        tried=frozenset(_tried(job, known)),
        customer_checks=customer_may([c.customer_step for c in pack.checks.values()], found),
        customer_remedies=customer_may([r.customer_step for r in pack.remedies.values()], found),
        age_years=job.age_years,
    )


def _aboard(source: JobSource, known: Knowledge) -> Bools:
    aboard = known.model.part_carried.copy()
    problems: list[Problem] = []
    for key, value in (("aboard", True), ("not_aboard", False)):
        for number, part in enumerate(getattr(source.job, key)):
            if part not in known.model.names.parts:
                mend = or_one_of(part, list(known.model.names.parts))
                what = f"there is no part kind '{part}'"
                problems.append(source.document.problem((key, number), what, mend))
            else:
                aboard[known.model.names.parts.index(part)] = value
    if problems:
        raise JobFileError(problems)
    return aboard


def _answered(job: JobFile, known: Knowledge) -> set[tuple[int, int]]:
    """(check, observer) of every check already answered, whatever it said."""
    names = known.model.names.checks
    return {
        (names.index(line.check), _observer(line, known.model.checks[names.index(line.check)].by))
        for line in job.facts
        if line.check in names
    } | _context_answers(job, known)


def _context_answers(job: JobFile, known: Knowledge) -> set[tuple[int, int]]:
    flags = [known.pack.context[n] for n in job.circumstances if n in known.pack.context]
    return {(known.model.names.checks.index(flag.check), 0) for flag in flags}


def _tried(job: JobFile, known: Knowledge) -> set[tuple[int, int]]:
    names = known.model.names.remedies
    return {
        (
            names.index(line.remedy),
            _remedied_by(line, known.model.remedies[names.index(line.remedy)].by),
        )
        for line in job.facts
        if line.remedy in names
    }


def _observer(line: FactLine, allowed: tuple[int, ...]) -> int:
    return OBSERVERS.index(line.by) if line.by else min(allowed, default=TECHNICIAN)


def _remedied_by(line: FactLine, allowed: tuple[int, ...]) -> int:
    """Whose hands: the technician's where they may and nobody is named, as when it is coded."""
    return OBSERVERS.index(line.by) if line.by else max(allowed, default=TECHNICIAN)


def _open_covers(job: JobFile, known: Knowledge) -> set[int]:
    """Covers opened on this visit by a step behind them."""
    if job.where != "site":
        return set()
    names, opened = known.model.names, set()
    for line in job.facts:
        if line.check in names.checks:
            opened.add(known.model.checks[names.checks.index(line.check)].cover)
        if line.remedy in names.remedies:
            opened.add(known.model.remedies[names.remedies.index(line.remedy)].cover)
    return opened - {-1}


def _not_showing(known: Knowledge, belief: Belief) -> float:
    """P(something is wrong that would not show on a run today)."""
    some = belief.rows.now.any(axis=1)
    quiet = 1.0 - showing(known.model, belief.rows.now)
    return float(belief.probability @ (some * quiet))
