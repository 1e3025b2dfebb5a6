"""Random problems with the exact cost of their best plan, kept to hold policies against."""

from __future__ import annotations

import csv
import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tubside.diagnosis.solve.drawn import KINDS, draw
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.problem_file import problem_text

TABLE = Path(__file__).parents[1] / "diagnosis" / "solve" / "frozen.csv"


@dataclass(frozen=True, slots=True)
class Frozen:
    """How a problem is drawn, and what its best plan costs, proven when it was written down."""

    kind: str
    causes: int
    checks: int
    single_fault: bool
    seed: int
    digest: str
    best: float

    def __str__(self) -> str:
        faults = "one" if self.single_fault else "several"
        return f"{self.kind}-{self.causes}x{self.checks}-{faults}-{self.seed}"

    def problem(self) -> Problem:
        """Draw it; what is drawn must be what was solved.

        Raises
        ------
        ValueError
            If the generator draws something else than when it was solved.
        """
        drawn = draw(
            KINDS[self.kind],
            self.causes,
            self.checks,
            self.seed,
            single_fault=self.single_fault,
        )
        if digest_of(drawn) != self.digest:
            msg = f"{self} is drawn otherwise than when it was solved: solve all of them anew"
            raise ValueError(msg)
        return drawn


def digest_of(problem: Problem) -> str:
    """Return twelve letters that change with any number of the problem."""
    return hashlib.sha256(problem_text(problem).encode()).hexdigest()[:12]


@cache
def frozen() -> tuple[Frozen, ...]:
    """Return all of them, as they stand in ``frozen.csv``."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(
            Frozen(
                row["kind"],
                int(row["causes"]),
                int(row["checks"]),
                row["single_fault"] == "yes",
                int(row["seed"]),
                row["digest"],
                float(row["best"]),
            )
            for row in csv.DictReader(file)
        )
