"""The customer's steps in the order that saves the most trouble, for one trouble.

The order is that of the next step (:mod:`tubside.diagnosis.ahead`) with nothing open but
the steps that the pack calls safe for customers, and the booking of a visit. It is worked
out beforehand, for a page that no server stands behind: along the answers met most often,
each remedy taken to have failed. An answer that asks for a remedy of its own leads to that
remedy aside, and from there back into the row. Nobody at the shop waits meanwhile, so a
minute costs the customer's time alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.belief import Belief, believe_sets, finished
from tubside.diagnosis.evidence import FAILS, Answer, Evidence, Treatment
from tubside.diagnosis.facts import Fact, evidence_of
from tubside.diagnosis.growth import grow
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.situation import Situation
from tubside.errors import FactsDisagreeError, UnknownNameError
from tubside.pack.fault_model import CUSTOMER
from tubside.pack.schema import Danger, Pack
from tubside.service.coding import coded_facts, outcomes_of
from tubside.service.customer_danger import dangers_asked
from tubside.service.customer_place import NOT_SURE, Here, for_plan, safe_remedies
from tubside.service.customer_plan import CustomerPlan, PlannedStep
from tubside.service.job_file import FactLine, JobFile, JobSource
from tubside.service.job_file import Indication as ToldIndication
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.own_check.choosing import alone, worth_asking
from tubside.service.short_text import indication_told
from tubside.strict_yaml import or_one_of
from tubside.strict_yaml.document import Document, Place

SETS = 300
MOST_STEPS = 7
"""More steps in one row are not read to the end (common practice, no source)."""
ONE_AHEAD = (0, 60)
MOST_TELLING = 3
"""One more than the questions asked at the end for the technician's sake."""


def customer_plan(library: Library, family: str, model: str | None, told: str) -> CustomerPlan:
    """The plan for one trouble.

    Parameters
    ----------
    library
        The shop's knowledge.
    family, model
        The machine; ``model`` None where only its family is known.
    told
        The id of an indication of the model's panel, or of a condition of the pack.

    Raises
    ------
    UnknownNameError
        When there is no such model, indication or condition.
    """
    known = library.family(family) if model is None else library.model(model)
    return plan_of(known, model, told)


def plan_of(known: Knowledge, model: str | None, told: str) -> CustomerPlan:
    """The same from what is known of the machine."""
    known = replace(known, model=replace(alone(known.model), predicting=None))
    pack, panel = known.pack, known.panel
    shown = None if panel is None or model is None else panel.indications.get(told)
    if shown is None and told not in pack.conditions:
        choices = [*(panel.indications if panel else ()), *pack.conditions]
        msg = f"there is no trouble '{told}'; {or_one_of(told, choices)}"
        raise UnknownNameError(msg)
    conditions = (told,) if shown is None else tuple(shown.conditions)
    stop = _danger_itself(pack, conditions)
    row = _Row(known, _facts(known, model, told, conditions))
    steps = () if stop is not None or not conditions else row.planned()
    return CustomerPlan(
        family=pack.family,
        model=model,
        indication=None if shown is None else told,
        conditions=conditions,
        dangers=dangers_asked(pack),
        stop=stop,
        first="stop" if stop is not None else steps[0].key if steps else "visit",
        steps=steps,
        cleared=row.cleared,
    )


def _danger_itself(pack: Pack, conditions: Sequence[str]) -> Danger | None:
    """The danger that a trouble is, where it cannot be anything else."""
    dangers = [pack.conditions[name].danger for name in conditions]
    return None if not dangers or None in dangers else dangers[0]


def _facts(
    known: Knowledge, model: str | None, told: str, conditions: Sequence[str]
) -> tuple[Fact, ...]:
    """What is known as the plan begins: the trouble, and a no to what would be a danger.

    A panel that shows nothing at all is a dead machine here, as the customer picked it so.
    """
    pack, panel = known.pack, known.panel
    no = [
        FactLine(condition=one, outcome="no") for one in conditions if pack.conditions[one].danger
    ]
    shown = panel is not None and model is not None and told in panel.indications
    if shown and not no:
        seen = indication_told(known, told)
        lamps = ToldIndication(lamps=seen.lamps, sound=seen.sound, display=seen.display)
        job = JobFile(model=model, indication=lamps)
    else:
        first = [one for one in conditions if pack.conditions[one].danger is None][:1] or [told]
        family = pack.family if model is None else None
        job = JobFile(family=family, model=model, reported=first, facts=no)
    return tuple(coded_facts(JobSource(job, Document({}, {(): Place("plan", 0)})), known))


@dataclass(slots=True)
class _Row:
    """The plan as it grows: what is taken to be known so far, and what was asked and done."""

    known: Knowledge
    facts: tuple[Fact, ...]
    answered: set[tuple[int, int]] = field(default_factory=set)
    tried: set[tuple[int, int]] = field(default_factory=set)
    left: float = 1.0

    @property
    def cleared(self) -> float:
        """Chance that the remedies so far have cleared the trouble."""
        return 1.0 - self.left

    def planned(self) -> tuple[PlannedStep, ...]:
        """The steps in their turn, those aside after the step that leads to them."""
        rows: list[list[PlannedStep]] = []
        telling = 0
        while len(rows) < MOST_STEPS and telling < MOST_TELLING:
            evidence = evidence_of(self.known.model, self.facts)
            try:
                sets = grow(self.known.model, evidence, SETS)
                belief = believe_sets(self.known.model, evidence, sets, bounded=False)
            except FactsDisagreeError:
                break
            here = Here(self.known, evidence, belief, len(rows) + 1)
            best = self._next(here, telling=telling > 0)
            if best is None and telling == 0:
                telling, best = 1, self._next(here, telling=True)
            if best is None:
                break
            telling += telling > 0
            rows.append(self._asked(here, best) if best.kind == "check" else self._done(here, best))
        return tuple(_joined(rows))

    def _next(self, here: Here, *, telling: bool) -> Step | None:
        """The best step that is worth a customer's while, before a visit is; None for none."""
        steps = self._best(here.evidence, here.belief)
        return worth_asking([s for s in steps if here.worth(s, self.tried, telling=telling)])

    def _best(self, evidence: Evidence, belief: Belief) -> list[Step]:
        if finished(evidence):
            return []
        pack, model = self.known.pack, self.known.model
        checks = [for_plan(pack, check) for check in pack.checks.values()]
        situation = Situation(
            on_site=False,
            aboard=model.part_carried.copy(),
            open_covers=frozenset(),
            answered=frozenset(self.answered),
            tried=frozenset(self.tried),
            customer_checks=np.array(checks, dtype=bool),
            customer_remedies=safe_remedies(pack.remedies),
        )
        return best_steps(model, evidence, belief, situation, ONE_AHEAD)

    def _asked(self, here: Here, step: Step) -> list[PlannedStep]:
        """A check, and the remedies aside that its answers ask for."""
        name = here.known.model.names.checks[step.index]
        chances, asides = here.answers(step.index, self.tried)
        going_on = {one: chance for one, chance in chances.items() if one not in asides}
        usual = max(going_on, key=lambda one: going_on[one]) if going_on else NOT_SURE
        outcomes = outcomes_of(here.known, name)
        code = outcomes.index(usual) if usual in outcomes else -1
        self.answered.add((step.index, CUSTOMER))
        self.facts = (*self.facts, Fact(name, Answer(step.index, code, CUSTOMER, 0)))
        return [
            here.check(name, asides),
            *(here.aside(one) for one in dict.fromkeys(asides.values())),
        ]

    def _done(self, here: Here, step: Step) -> list[PlannedStep]:
        """A remedy, taken to have failed for what follows."""
        clears = here.clears(step.index)
        self.left *= 1.0 - float(here.cleared_by(clears, here.belief.probability))
        self.tried.add((step.index, CUSTOMER))
        self.facts = (*self.facts, Fact("tried", Treatment(clears, FAILS)))
        return [here.remedy(step.index, here.key)]


def _joined(rows: Sequence[Sequence[PlannedStep]]) -> Iterator[PlannedStep]:
    """Yield all steps, what goes on leading to the next of the row, and the last to a visit."""
    for number, row in enumerate(rows):
        after = rows[number + 1][0].key if number + 1 < len(rows) else "visit"
        for step in row:
            answers = tuple(replace(one, to=one.to or after) for one in step.answers)
            yield replace(step, answers=answers)
