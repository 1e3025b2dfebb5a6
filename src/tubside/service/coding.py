"""From a job file to coded facts, refusing by line what the pack does not know."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from tubside.diagnosis.evidence import FAILS, WORKS, Answer, Symptom, Treatment
from tubside.diagnosis.facts import (
    Age,
    Fact,
    HowOften,
    Reported,
    Settled,
    SymptomSaid,
    Words,
)
from tubside.errors import JobFileError, Problem
from tubside.pack.fault_model import CUSTOMER, OBSERVERS, Floats
from tubside.service.job_file import FactLine, JobSource
from tubside.service.knowledge import Knowledge
from tubside.strict_yaml import or_one_of

NOTHING_LEARNED = ("not sure", "could not look")
NOT_DONE = ("not done", "could not", "refused")
ASKED = ((0.92, 0.06), (0.98, 0.02))
"""P(yes when asked | on, off), customer and technician; common practice, no source."""
WRONG_VARIANT = 0.002
"""P(another construction was told | the machine's own); common practice, no source. It
keeps every cause reachable: people misjudge how a machine is built."""
STAGE_SLIP = 0.05
"""P(a stop at an earlier stage | the stage named was reached); no source."""
HOW_OFTEN_WORDS = {"every time": 0, "every-time": 0, "sometimes": 1, "once": 2}


def coded_facts(source: JobSource, known: Knowledge) -> list[Fact]:
    """All facts of a job file, in order: the call first, then what was found and done.

    Raises
    ------
    JobFileError
        Naming every id that the pack does not know, by line.
    """
    problems: list[Problem] = []
    facts: list[Fact] = []
    for part in (_call, _machine, _context, _lines):
        for item in part(source, known):
            if isinstance(item, Problem):
                problems.append(item)
            else:
                facts.append(item)
    if problems:
        raise JobFileError(sorted(problems))
    return facts


Items = Iterator[Fact | Problem]


def _call(source: JobSource, known: Knowledge) -> Items:
    job, conditions = source.job, known.model.names.conditions
    for number, name in enumerate(job.reported):
        if name not in conditions:
            yield _unknown(source, ("reported", number), "condition", name, conditions)
        else:
            yield _reported(known, name, first=number == 0)
    if job.indication is not None or job.clip is not None:
        from tubside.service.panel_coding import panel_facts  # noqa: PLC0415  # only with a panel

        yield from panel_facts(source, known)
    stages = known.model.names.stages
    for key in ("when", "reached"):
        stage = getattr(job, key)
        if stage is None:
            continue
        if stage not in stages:
            yield _unknown(source, (key,), "stage", stage, stages)
        else:
            yield Fact(f"{key}: {stage}", Words(_stage_words(known, key, stages.index(stage))))
    if job.how_often is not None:
        yield Fact(_said("how often", job.how_often), HowOften(HOW_OFTEN_WORDS[job.how_often]))


def _reported(known: Knowledge, name: str, *, first: bool) -> Fact:
    condition = known.model.names.conditions.index(name)
    title = known.pack.conditions[name].title
    return Fact(f"{'reported' if first else 'also reported'}: {title}", Reported(condition))


def _stage_words(known: Knowledge, key: str, stage: int) -> Floats:
    complaint = known.model.complaint
    if key == "when":
        return complaint.at_stage[:, stage].copy()
    before = complaint.stopping & (complaint.stage < stage)
    return np.where(before, STAGE_SLIP, 1.0)


def _machine(source: JobSource, known: Knowledge) -> Items:
    job, names = source.job, known.model.names
    if job.age_years is not None:
        yield Fact(f"age: {job.age_years:g} years", Age(job.age_years))
    plate = {} if known.panel is None else dict(known.panel.plate.variants)
    for axis, value in dict.fromkeys((*plate.items(), *job.variants.items())):
        if axis not in names.axes:
            yield _unknown(source, ("variants", axis), "variant axis", axis, names.axes)
        elif value not in names.values[names.axes.index(axis)]:
            choices = names.values[names.axes.index(axis)]
            yield _unknown(source, ("variants", axis), f"{axis}", value, choices)
        else:
            index = names.axes.index(axis)
            against = plate.get(axis, value) != job.variants.get(axis, value)
            slip = 0.0 if against else WRONG_VARIANT  # told two ways, they cannot both be true
            vector = np.array([1.0 if v == value else slip for v in names.values[index]])
            yield Fact(f"{axis}: {value}", Settled(index, vector))


def _context(source: JobSource, known: Knowledge) -> Items:
    for name, value in source.job.circumstances.items():
        flag = known.pack.context.get(name)
        if flag is None:
            yield _unknown(source, ("context", name), "context", name, known.pack.context)
            continue
        outcome = flag.if_true if value else flag.if_false
        yield _answer(known, flag.check, outcome, FactLine(by="customer"))


def _lines(source: JobSource, known: Knowledge) -> Items:
    done = False
    for number, line in enumerate(source.job.facts):
        place = ("facts", number)
        if line.check is not None:
            yield _check_line(source, known, place, line)
        elif line.remedy is not None:
            done = True
            yield from _remedy_line(source, known, place, line)
        elif line.condition is not None:
            yield _condition_line(source, known, place, line)
        elif line.came_back:
            if not done:
                yield source.document.problem(
                    place, "it came back, but no remedy was done before", "put the remedy first"
                )
            nothing = np.zeros(known.model.n_causes)
            yield Fact("it came back", Treatment(nothing, FAILS))


def _check_line(
    source: JobSource, known: Knowledge, place: tuple[str, int], line: FactLine
) -> Fact | Problem:
    checks = known.pack.checks
    if line.check not in checks:
        return _unknown(source, (*place, "check"), "check", str(line.check), checks)
    if line.value is not None:
        from tubside.service.measuring import measured_fact  # noqa: PLC0415  # only with a reading

        return measured_fact(source, known, place, line)
    outcomes = (*outcomes_of(known, line.check), *NOTHING_LEARNED)
    if checks[line.check].reading is not None and line.outcome not in NOTHING_LEARNED:
        what = f"{line.check} is told as a number"
        return source.document.problem(
            (*place, "outcome"), what, "write 'value: ...' with its unit"
        )
    if line.outcome not in outcomes:
        return _unknown(
            source, (*place, "outcome"), f"outcome of {line.check}", str(line.outcome), outcomes
        )
    return _answer(known, line.check, str(line.outcome), line)


def outcomes_of(known: Knowledge, check: str) -> tuple[str, ...]:
    """Outcome ids of a check, without "not sure" and "could not look"; none of a reading."""
    names, entry = known.model.names, known.pack.checks[check]
    if entry.reading is not None:
        return ()
    if entry.finding is not None:
        return names.outcomes[names.findings.index(entry.finding)]
    return names.values[names.axes.index(str(entry.variant))]


def _answer(known: Knowledge, check: str, outcome: str, line: FactLine) -> Fact:
    index = known.model.names.checks.index(check)
    by = line.by or ("customer" if 0 in known.model.checks[index].by else "technician")
    outcomes = outcomes_of(known, check)
    code = outcomes.index(outcome) if outcome in outcomes else -1
    label = f"{_said(known.pack.checks[check].title, outcome)} ({by})"
    return Fact(label, Answer(index, code, OBSERVERS.index(by), 0, line.again))


def _remedy_line(
    source: JobSource, known: Knowledge, place: tuple[str, int], line: FactLine
) -> Items:
    remedies = known.pack.remedies
    if line.remedy not in remedies:
        yield _unknown(source, (*place, "remedy"), "remedy", str(line.remedy), remedies)
        return
    reruns = {"works": WORKS, "still-fails": FAILS, "not re-run": None}
    if line.outcome in NOT_DONE:
        return
    if line.outcome not in reruns:
        choices = (*reruns, *NOT_DONE)
        yield _unknown(
            source, (*place, "outcome"), "outcome of a remedy", str(line.outcome), choices
        )
        return
    index = known.model.names.remedies.index(line.remedy)
    remedy = known.model.remedies[index]
    by = OBSERVERS.index(line.by) if line.by else max(remedy.by)
    clears = remedy.clears[by] if remedy.clears[by].any() else remedy.clears.max(axis=0)
    label = _said(remedies[line.remedy].title, line.outcome)
    yield Fact(label, Treatment(clears, reruns[line.outcome]))


def _condition_line(
    source: JobSource, known: Knowledge, place: tuple[str, int], line: FactLine
) -> Fact | Problem:
    conditions = known.model.names.conditions
    if line.condition not in conditions:
        return _unknown(source, (*place, "condition"), "condition", str(line.condition), conditions)
    if line.outcome not in {"yes", "no", *NOTHING_LEARNED}:
        return _unknown(
            source,
            (*place, "outcome"),
            "answer",
            str(line.outcome),
            ("yes", "no", *NOTHING_LEARNED),
        )
    index = conditions.index(line.condition)
    title = known.pack.conditions[line.condition].title
    by = CUSTOMER if line.by is None else OBSERVERS.index(line.by)
    on, off = ASKED[by]
    chances = {"yes": (on, off), "no": (1.0 - on, 1.0 - off)}.get(line.outcome, (1.0, 1.0))
    said = SymptomSaid(Symptom(index, *chances, by, line.again))
    return Fact(f"asked: {title}: {line.outcome}", said)


def _said(title: str, outcome: str) -> str:
    """A title with what was told of it, its id read as words; a question keeps its mark alone."""
    return f"{title}{'' if title.endswith('?') else ':'} {outcome.replace('-', ' ')}"


def _unknown(
    source: JobSource, place: tuple[str | int, ...], kind: str, name: str, known: Collection[str]
) -> Problem:
    what = f"there is no {kind} '{name}'"
    return source.document.problem(place, what, or_one_of(name, list(known)))
