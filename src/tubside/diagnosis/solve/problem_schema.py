"""The shape of a troubleshooting problem's file: one struct per kind of record.

What the fields mean, and what must hold between them, is told in docs/solve.md.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

MOST = 1e12
"""No cost may be larger: sums and products of costs must stay exact enough to compare."""

Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]
Cost = Annotated[float, msgspec.Meta(ge=0, le=MOST)]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Row = list[Chance]


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base: unknown keys are refused, and what is as always is left out when written."""


class CheckRecord(Record, frozen=True, kw_only=True, omit_defaults=True):
    """What a check costs and what it shows; ``otherwise`` may be left out if never needed."""

    cost: Cost
    outcomes: list[Name]
    given: dict[str, Row] = {}
    otherwise: Row | None = None
    repeatable: bool = False
    behind: str | None = None


class RemedyRecord(Record, frozen=True, kw_only=True, omit_defaults=True):
    """What a remedy costs and which causes it clears, with their chances."""

    cost: Cost
    clears: dict[str, Chance]
    rerun_cost: Cost = 0.0
    repeatable: bool = False
    behind: str | None = None


class CoverRecord(Record, frozen=True, kw_only=True, omit_defaults=True):
    """What it costs to open a cover, and to close it."""

    open: Cost
    close: Cost = 0.0


class StopRecord(Record, frozen=True, kw_only=True):
    """What it costs to end the job so."""

    cost: Cost


class ProblemRecord(Record, frozen=True, kw_only=True, omit_defaults=True):
    """A whole file."""

    title: Annotated[str, msgspec.Meta(max_length=500)] = ""
    goal: Literal["working", "identified"] = "working"
    causes: dict[Name, Chance]
    single_fault: bool = True
    checks: dict[Name, CheckRecord] = {}
    remedies: dict[Name, RemedyRecord] = {}
    covers: dict[Name, CoverRecord] = {}
    stops: dict[Name, StopRecord] = {}


TEXT_FIELDS = frozenset({("title",), ("goal",), ("*", "*", "behind"), ("*", "*", "outcomes", "*")})
"""Where texts stand; every other value is a number, true or false ("*": any name)."""
