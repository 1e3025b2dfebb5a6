"""The shape of a country profile: whose work is whose, and the test after repair."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from tubside.pack.schema import Record

Known = Literal["read", "second-hand", "from-memory"]
Test = Literal["conductor", "insulation", "protective-current", "touch-current"]
ProtectionClass = Literal["I", "II"]
Unit = Literal["ohm", "Mohm", "mA"]
Amount = Annotated[float, Meta(gt=0, le=1e6)]
NoLess = Annotated[float, Meta(ge=0, le=1e6)]

KNOWN_WORDS: dict[Known, str] = {
    "read": "the rule's own text was read",
    "second-hand": "read in somebody else's account, not in a licensed copy",
    "from-memory": "from memory, not seen",
}


class Source(Record, frozen=True, kw_only=True):
    """Where a rule stands, and how well we know it."""

    standard: str
    known: Known
    edition: str = ""
    clause: str = ""
    note: str = ""

    def told(self) -> str:
        """Standard, edition and clause in one line."""
        return ", ".join(part for part in (self.standard, self.edition, self.clause) if part)


class Work(Record, frozen=True, kw_only=True):
    """A kind of work, and who may do it."""

    title: str
    who: str
    source: Source


class Duty(Record, frozen=True, kw_only=True):
    """Whether the test after repair is a duty: then no reason waives it."""

    test: Literal["duty", "advised"]
    words: str
    unsafe: str
    source: Source


class Steps(Record, frozen=True, kw_only=True):
    """A limit that rises with each started length of cord, up to a most.

    It holds for cords up to ``up_to_mm2``; a thicker one has l / (kappa A), not below
    ``least`` [ohm].
    """

    first_m: Amount
    each_m: Amount
    each: Amount
    most: Amount
    up_to_mm2: Amount
    kappa: Amount
    least: Amount


class PerKilowatt(Record, frozen=True, kw_only=True):
    """A limit that rises with the power of the heater once that is over ``over_kw``."""

    over_kw: NoLess
    each: Amount
    most: Amount


class Limit(Record, frozen=True, kw_only=True):
    """One limit; of a list, the first one that fits an appliance holds."""

    title: str
    test: Test
    side: Literal["at-most", "at-least"]
    value: Amount
    unit: Unit
    classes: list[ProtectionClass]
    source: Source
    heater_over_kw: NoLess | None = None
    heater_up_to_kw: NoLess | None = None
    cord_added: bool = False
    steps: Steps | None = None
    per_kilowatt: PerKilowatt | None = None
    earlier_edition: bool = False


class Method(Record, frozen=True, kw_only=True):
    """How insulation and leakage go together, and the voltage of the insulation test."""

    leakage: Literal["always", "where-insulation-does-not-reach"]
    insulation_volts: Amount
    insulation_volts_surge_parts: Amount | None = None
    words: str
    source: Source


class Rcd(Record, frozen=True, kw_only=True):
    """What a residual-current device has to do; times in milliseconds."""

    rated_ma: Amount
    at_rated_ms: Amount
    at_five_ms: Amount | None = None
    holds_at: Annotated[float, Meta(gt=0, lt=1)] | None = None
    source: Source


class Content(Record, frozen=True, kw_only=True):
    """One thing that the record or the label has to say."""

    what: str
    on: Literal["record", "label", "both"]
    source: Source


class Beside(Record, frozen=True, kw_only=True):
    """A figure that is told and decides nothing: it holds for other appliances, or for makers."""

    what: str
    says: str
    source: Source


class Profile(Record, frozen=True, kw_only=True):
    """One country: ``mains`` and ``codes`` name its entries in the tables of physics.

    Its tax stands in a file of its own, ``taxes.yaml`` of :mod:`tubside.money`.
    """

    country: Annotated[str, Meta(pattern=r"\A[A-Z]{2}\Z")]
    title: str
    about: str
    mains: str
    codes: str
    works: dict[str, Work]
    duty: Duty
    method: Method
    limits: dict[str, Limit]
    record: dict[str, Content]
    beside: dict[str, Beside]
    rcd: Rcd | None = None
    keep_years: Annotated[int, Meta(ge=0, le=100)] | None = None


def limit_digest_form(limit: Limit) -> bytes:
    """A limit as bytes that change whenever anything in it does."""
    return msgspec.json.encode(limit, order="sorted")
