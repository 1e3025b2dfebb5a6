"""One place in a customer's plan: what is worth doing there, and where its answers lead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.options import said_table
from tubside.diagnosis.situation import applies, values_if_there
from tubside.pack.fault_model import CUSTOMER, Bools, Floats
from tubside.pack.schema import Check, Danger, Pack, Remedy
from tubside.service.coding import outcomes_of
from tubside.service.customer_plan import Leads, PlannedStep
from tubside.service.knowledge import Knowledge
from tubside.service.moving.chapters import for_customers

LEAST_CLEARED = 0.03
"""Chance that a remedy clears the trouble, below which it is left to the telephone."""
LEAST_MET = 0.04
"""Chance of the answers that lead to a remedy, below which a check is not asked."""
LEAST_ASIDE = 0.3
"""Chance that a remedy clears the trouble, from which an answer leads straight to it."""
NOT_SURE = "not sure"


@dataclass(frozen=True, slots=True)
class Here:
    """One place in the row: the belief there, and its number."""

    known: Knowledge
    evidence: Evidence
    belief: Belief
    number: int

    @property
    def key(self) -> str:
        """The key of the step that stands here."""
        return str(self.number)

    def worth(self, step: Step, tried: set[tuple[int, int]], *, telling: bool) -> bool:
        """Whether a step is worth a customer's while.

        A remedy has to clear something, a check to lead to a remedy; or, ``telling``, to
        be a question that helps the technician to come prepared.
        """
        if not step.pays:
            return False
        if step.kind == "remedy":
            chance = self.cleared_by(self.clears(step.index), self.belief.probability)
            return chance >= LEAST_CLEARED
        if step.kind != "check":
            return True
        chances, asides = self.answers(step.index, tried)
        if sum(chances[one] for one in asides) >= LEAST_MET:
            return True
        name = self.known.model.names.checks[step.index]
        fields = self.known.pack.checks[name].customer_step
        asks = fields is not None and fields.touches == "nothing" and not fields.runs_machine
        return telling and asks and not _dangers(self.known.pack, name)

    def answers(
        self, index: int, tried: set[tuple[int, int]]
    ) -> tuple[dict[str, float], dict[str, int]]:
        """The chance of each answer, and the remedy that an answer asks for by itself."""
        model, name = self.known.model, self.known.model.names.checks[index]
        said = said_table(model, self.evidence, self.belief, model.checks[index], CUSTOMER)
        dangers = _dangers(self.known.pack, name)
        chances, asides = {}, {}
        for column, outcome in enumerate(outcomes_of(self.known, name)):
            if outcome in dangers:
                continue
            weight = self.belief.probability * said[:, column]
            chances[outcome] = float(weight.sum())
            best = self._best_aside(weight / max(chances[outcome], 1e-300), tried)
            if best is not None:
                asides[outcome] = best
        return chances, asides

    def _best_aside(self, probability: Floats, tried: set[tuple[int, int]]) -> int | None:
        """The remedy that clears most a minute, where it clears enough; None for none."""
        found: list[tuple[float, int]] = []
        for number, safe in enumerate(safe_remedies(self.known.pack.remedies)):
            remedy = self.known.model.remedies[number]
            if safe and remedy.phone and (number, CUSTOMER) not in tried:
                chance = self.cleared_by(self.clears(number), probability)
                if chance >= LEAST_ASIDE:
                    found.append(
                        (chance / max(remedy.minutes + remedy.rerun_minutes, 0.5), -number)
                    )
        return -max(found)[1] if found else None

    def clears(self, index: int) -> Floats:
        """P(a customer's doing it clears a cause): (n,)."""
        remedy = self.known.model.remedies[index]
        fits = applies(values_if_there(self.known.model, self.evidence), remedy.needs)
        return np.asarray(remedy.clears[CUSTOMER] * fits)

    def cleared_by(self, clears: Floats, probability: Floats) -> float:
        """P(all that is wrong is cleared), something being wrong."""
        now = self.belief.rows.now
        all_gone = np.where(now, clears, 1.0).prod(axis=1) * now.any(axis=1)
        return float(probability @ all_gone)

    def check(self, name: str, asides: Mapping[str, int]) -> PlannedStep:
        """A check with its answers; those that go on lead to "" until the row is joined."""
        check = self.known.pack.checks[name]
        dangers = _dangers(self.known.pack, name)
        words = _words(self.known.pack, check)
        answers = [
            Leads(one, words[one], "stop", dangers[one])
            if one in dangers
            else Leads(one, words[one], self._aside_key(asides[one]) if one in asides else "")
            for one in outcomes_of(self.known, name)
        ]
        return _shown(
            self.known.pack, name, check, self.key, (*answers, Leads(NOT_SURE, NOT_SURE, ""))
        )

    def remedy(self, index: int, key: str) -> PlannedStep:
        """A remedy with its three answers."""
        name = self.known.model.names.remedies[index]
        answers = (
            Leads("works", "it works again", "cleared"),
            Leads("still-fails", "it is the same as before", ""),
            Leads("not done", "I could not, or would rather not", ""),
        )
        return _shown(self.known.pack, name, self.known.pack.remedies[name], key, answers)

    def aside(self, index: int) -> PlannedStep:
        """A remedy that an answer leads to."""
        return replace(self.remedy(index, self._aside_key(index)), aside=True)

    def _aside_key(self, index: int) -> str:
        return f"{self.number}-{self.known.model.names.remedies[index]}"


def for_plan(pack: Pack, check: Check) -> bool:
    """Whether a check may stand in a customer's plan: safe by its fields, and told in words.

    One that runs the machine to see whether it is dangerous may not.
    """
    finding = pack.findings.get(check.finding or "")
    runs = check.customer_step is not None and check.customer_step.runs_machine
    retries = runs and finding is not None and bool(finding.danger)
    return check.reading is None and for_customers(check) and not retries


def safe_remedies(remedies: Mapping[str, Remedy]) -> Bools:
    """Which remedies are safe for customers, by their fields."""
    return np.array([for_customers(remedy) for remedy in remedies.values()], dtype=bool)


def _dangers(pack: Pack, check: str) -> Mapping[str, Danger]:
    finding = pack.checks[check].finding
    return {} if finding is None else pack.findings[finding].danger


def _words(pack: Pack, check: Check) -> Mapping[str, str]:
    if check.finding is not None:
        return pack.findings[check.finding].outcomes
    return {name: one.title for name, one in pack.variants[str(check.variant)].values.items()}


def _shown(
    pack: Pack, name: str, step: Check | Remedy, key: str, answers: tuple[Leads, ...]
) -> PlannedStep:
    assert step.customer_step is not None
    return PlannedStep(
        key=key,
        kind="check" if isinstance(step, Check) else "remedy",
        name=name,
        title=step.title,
        say=" ".join((step.say or "").split()),
        cautions=tuple(pack.cautions[one] for one in step.cautions),
        minutes=step.minutes,
        rerun_minutes=step.rerun_minutes if isinstance(step, Remedy) else 0.0,
        fields=step.customer_step,
        answers=answers,
    )
