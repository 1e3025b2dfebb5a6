"""Problems small enough to work out by hand, and a technician at the machine."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from made_models import COSTS, Shape, made_model
from tubside.diagnosis.belief import Belief, believe_sets
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import single_sets
from tubside.diagnosis.situation import Situation
from tubside.pack.fault_model import (
    Bools,
    Check,
    FaultModel,
    Finding,
    Prior,
)


def rows_of(table: Bools) -> list[list[int]]:
    """Return the members of each set as numbers, for plain loops."""
    return [np.flatnonzero(row).tolist() for row in table]


Tried = tuple[float, dict[int, float]]


def tiny_model(
    chance: list[float],
    remedies: list[Tried],
    checks: list[tuple[float, list[list[float]]]],
    ending: float = 500.0,
) -> FaultModel:
    """Return a problem small enough to work out by hand, for a technician on site.

    One cause at a time with these chances; remedies as (cost, cause -> chance that it
    clears); checks without error as (cost, row of outcomes for each cause); ``ending``
    is the cost of ending the job on a new machine.
    """
    n = len(chance)
    base = made_model(Shape(causes=n, axis=False, leads=False, findings=0, remedies=1))
    step = base.remedies[0]
    look = Check(-1, -1, 0.0, True, True, (0, 1), (0.0, 0.0), -1, ())
    return replace(
        base,
        prior=Prior(np.array(chance), np.array([0.01, 0.01]), (), ()),
        shows=np.ones(n),
        findings=tuple(
            Finding(np.full(len(rows[0]), 1 / len(rows[0])), np.arange(n), np.array(rows), False,
                    needs_fault=False)
            for _, rows in checks
        ),
        checks=tuple(replace(look, finding=k, minutes=cost) for k, (cost, _) in enumerate(checks)),
        remedies=tuple(
            replace(
                step,
                clears=np.array([[clears.get(i, 0.0) for i in range(n)]] * 2),
                minutes=cost,
                rerun_minutes=0.0,
                parts=(),
                cover=-1,
            )
            for cost, clears in remedies
        ),
        stops=base.stops[:1],
        costs=replace(COSTS, replacement=ending, disposal=0.0),
    )  # fmt: skip


def at_the_machine(model: FaultModel, **changes: object) -> Situation:
    """Return a technician's situation: on site, nothing done, everything aboard."""
    whole = Situation(
        on_site=True,
        aboard=np.ones(len(model.part_price), dtype=bool),
        open_covers=frozenset(),
        answered=frozenset(),
        tried=frozenset(),
        customer_checks=np.ones(len(model.checks), dtype=bool),
        customer_remedies=np.ones(len(model.remedies), dtype=bool),
        age_years=0.0,
    )
    return replace(whole, **changes)  # type: ignore[arg-type]  # names of Situation's fields


def one_fault(model: FaultModel, evidence: Evidence | None = None) -> Belief:
    """Return the belief over single causes alone."""
    return believe_sets(model, evidence or Evidence(), single_sets(model.n_causes), bounded=False)
