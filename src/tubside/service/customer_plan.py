"""A customer's plan as data: a few safe steps, and where each answer leads.

Every step is one that the pack calls safe for customers, judged by its fields. The plan
begins after the questions about danger, all of them answered with no; a yes to one of
them, or an answer that tells of a danger, ends it at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from tubside.errors import UnknownNameError
from tubside.pack.schema import Caution, CustomerStep, Danger
from tubside.service.customer_danger import DangerAsked

End = Literal["cleared", "visit", "stop"]
ENDS: tuple[End, ...] = ("cleared", "visit", "stop")
"""It runs again; it needs a technician; stop, switch off where that is safe, and ring."""


@dataclass(frozen=True, slots=True)
class Leads:
    """One answer to a step: its id as in a job's facts, its words, and where it leads.

    ``to`` is the key of a step, or one of :data:`ENDS`; ``danger`` is what the answer tells
    of, and then ``to`` is "stop".
    """

    outcome: str
    words: str
    to: str
    danger: Danger | None = None


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step as a customer is shown it: cautions first, then what to look at or to do.

    ``key`` is its place in the plan, ``name`` its id in the pack: a remedy may come twice,
    after the answer that asks for it (``aside``), and in its turn.
    """

    key: str
    kind: Literal["check", "remedy"]
    name: str
    title: str
    say: str
    cautions: tuple[Caution, ...]
    minutes: float
    rerun_minutes: float
    fields: CustomerStep
    answers: tuple[Leads, ...]
    aside: bool = False


@dataclass(frozen=True, slots=True)
class CustomerPlan:
    """What a customer may do about one trouble of one machine, in order.

    Attributes
    ----------
    indication
        Id on the model's panel; None where the trouble is told as a condition.
    conditions
        What the trouble may be, by id in the pack.
    dangers
        What is asked before all else.
    stop
        The danger that the trouble itself is: then there are no steps.
    first
        Key of the first step, or "visit" or "stop".
    cleared
        Chance that the plan's remedies clear the trouble, by the pack's numbers.
    """

    family: str
    model: str | None
    indication: str | None
    conditions: tuple[str, ...]
    dangers: tuple[DangerAsked, ...]
    stop: Danger | None
    first: str
    steps: tuple[PlannedStep, ...]
    cleared: float

    def step(self, key: str) -> PlannedStep:
        """The step of that key.

        Raises
        ------
        UnknownNameError
            When the plan has none.
        """
        for step in self.steps:
            if step.key == key:
                return step
        msg = f"the plan has no step '{key}'; it begins with '{self.first}'"
        raise UnknownNameError(msg)

    @property
    def minutes(self) -> float:
        """Minutes for all steps in their turn, with starting it again after each remedy."""
        return sum(one.minutes + one.rerun_minutes for one in self.steps if not one.aside)

    def walks(self) -> Iterator[tuple[tuple[str, str], ...]]:
        """Yield every way through the plan: (key, outcome) of each answer, then ("", end)."""
        yield from self._from(self.first, ())

    def _from(
        self, key: str, before: tuple[tuple[str, str], ...]
    ) -> Iterator[tuple[tuple[str, str], ...]]:
        if key in ENDS:
            yield (*before, ("", key))
            return
        for answer in self.step(key).answers:
            yield from self._from(answer.to, (*before, (key, answer.outcome)))
