"""The shape of a pack's YAML: one struct per kind of record, and nothing computed.

A pack is a folder of YAML files. Each file may hold any of the sections named
in :class:`Pack`; the reader merges them, so that a file can follow a subject
("drain.yaml": its causes, findings, checks and remedies together).
"""

from __future__ import annotations

from typing import Literal

import msgspec

from tubside.pack.family_schema import Costs, Words
from tubside.pack.machine_schema import ControllerLimit, MachineValue, Move
from tubside.pack.reading_schema import Reading
from tubside.pack.record import Source

Observer = Literal["customer", "technician"]
Danger = Literal["gas", "shock", "burning", "smoke", "tripping", "water-at-plug"]
DANGERS: tuple[Danger, ...] = ("gas", "shock", "burning", "smoke", "tripping", "water-at-plug")
Trade = Literal["plumber", "electrician", "gasfitter", "refrigeration"]


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of every record: unknown keys are refused."""


class SourceMark(Record):
    """Where numbers come from; ``kind`` says how well the source is known."""

    kind: Literal["published", "seen", "worked-out", "from-memory", "common-practice"]
    text: str


class Stage(Record):
    """A stage of the cycle, in order; a ``gate`` that fails keeps later ones from running."""

    title: str
    gate: bool = False


class Healthy(Record):
    """A call with no cause left: its share, how it is reported, how a re-run goes."""

    title: str
    weight: float
    reported_as: dict[str, float]
    rerun_fails: float
    how_often: dict[Literal["every-time", "sometimes", "once"], float]
    source: Source


class VariantValue(Record):
    """One construction within a family and its share of machines met."""

    title: str
    share: float


class Variant(Record):
    """An axis of construction, settled by a question, a prior until then."""

    title: str
    question: str
    values: dict[str, VariantValue]
    source: Source


class ContextFlag(Record):
    """A yes/no field of a job file that answers a check."""

    check: str
    if_true: str
    if_false: str


class Condition(Record):
    """What the controller stops for, or what people notice."""

    title: str
    kind: Literal["stopping", "symptom"]
    stages: list[str]
    rank: int
    leak: float
    source: Source
    said_as: dict[str, float] = {}
    danger: Danger | None = None
    words: list[str] = []


class Cause(Record):
    """What is really wrong. ``weight`` is per 1000 calls as the main cause."""

    title: str
    kind: Literal["user", "site", "component"]
    weight: float
    cleared_by: list[Observer | Trade]
    confirm_minutes: float
    reported_as: dict[str, float]
    shows: float
    ageing: float
    source: Source
    plain: str = ""
    hazards: list[str] = []
    variants: dict[str, list[str]] = {}
    leads_to: dict[str, float] = {}
    moves: dict[str, Move] = {}
    without_physics: dict[str, str] = {}


class Finding(Record):
    """A true state that checks look at.

    ``graded`` outcomes run from worst to best; ``kinds`` have no order. Rows are
    in the order of the outcomes.
    """

    title: str
    healthy: list[float]
    causes: dict[str, list[float]]
    source: Source
    graded: dict[str, str] = {}
    kinds: dict[str, str] = {}
    dominance: list[str] = []
    needs_fault: bool = False
    danger: dict[str, Danger] = {}
    sources: dict[str, str] = {}

    @property
    def outcomes(self) -> dict[str, str]:
        """Outcome id -> plain words."""
        return self.graded or self.kinds


class CustomerStep(Record):
    """The fields that make a step one for customers (checked by these, not by words)."""

    plug: Literal["in", "out", "either"]
    taps: Literal["open", "shut", "as-is"]
    touches: Literal[
        "nothing",
        "taps",
        "lid",
        "load",
        "settings",
        "household",
        "hose-nut",
        "strainer",
        "lint-filter",
        "tank",
        "hose-outside",
        "socket",
    ]
    water: Literal["none", "cold", "below-40", "household-hot", "unknown"]
    litres: float
    runs_machine: bool = False
    tray: bool = False
    after_danger: bool = False


class Cover(Record):
    """What needs a tool to open, or exposes wiring or moving parts."""

    title: str
    open_minutes: float
    close_minutes: float
    source: Source


class Check(Record):
    """A look, a question, a test or a reading: changes nothing, tells something."""

    title: str
    how: str
    where: Literal["phone", "site", "either"]
    who: list[Observer]
    minutes: float
    power: Literal["live", "dead", "any"]
    normal: str
    cautions: list[str]
    source: Source
    finding: str | None = None
    variant: str | None = None
    reading: Reading | None = None
    say: str | None = None
    tools: list[str] = []
    error: dict[Observer, float] = {}
    customer_step: CustomerStep | None = None
    behind: str | None = None
    at_stage: str | None = None
    needs: dict[str, list[str]] = {}


class Clears(Record):
    """Chance that a remedy clears a cause, by who does it."""

    technician: float | None = None
    customer: float | None = None


class Remedy(Record):
    """Something done that may clear causes; followed by a re-run."""

    title: str
    how: str
    where: Literal["phone", "site", "either"]
    who: list[Observer]
    minutes: float
    rerun_minutes: float
    clears: dict[str, Clears]
    power: Literal["live", "dead", "any"]
    cautions: list[str]
    source: Source
    say: str | None = None
    tools: list[str] = []
    parts: list[str] = []
    customer_step: CustomerStep | None = None
    behind: str | None = None
    needs: dict[str, list[str]] = {}


class Stop(Record):
    """An honest end of the job, or a hand-over to a licensed trade, with its cost."""

    title: str
    kind: Literal["refer", "scrap", "return"]
    how: str
    source: Source
    trade: Trade | None = None
    cost: float | None = None
    up_to_years: float | None = None


class PartKind(Record):
    """A part kind, its price range [dollars] and whether it is carried always."""

    title: str
    price_low: float
    price_high: float
    carried: bool
    source: Source


class Caution(Record):
    """What can hurt and what to do about it, shown before the step."""

    harm: str
    do: str


class Pack(Record):
    """All knowledge of one family."""

    family: str
    title: str
    about: str
    stages: dict[str, Stage]
    healthy: dict[str, Healthy]
    second_fault_share: float
    second_fault_source: Source
    age_mix: list[float]
    age_mix_source: Source
    variants: dict[str, Variant]
    costs: Costs
    words: Words
    context: dict[str, ContextFlag]
    sources: dict[str, SourceMark]
    conditions: dict[str, Condition]
    causes: dict[str, Cause]
    findings: dict[str, Finding]
    checks: dict[str, Check]
    remedies: dict[str, Remedy]
    stops: dict[str, Stop]
    parts: dict[str, PartKind]
    cautions: dict[str, Caution]
    covers: dict[str, Cover]
    machine: dict[str, MachineValue] = {}
    controller: dict[str, ControllerLimit] = {}
