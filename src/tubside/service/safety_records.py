"""Facts about the safety test after a repair: what was touched, found, and decided."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from tubside.safety.appliance import Touched
from tubside.safety.judging import Outcome
from tubside.safety.profile_schema import ProtectionClass
from tubside.safety.required import Release

Name = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
Country = Annotated[str, Meta(pattern=r"\A[A-Z]{2}\Z")]
Digest = Annotated[str, Meta(pattern=r"\A[0-9a-f]{64}\Z")]
WordsRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
Amount = Annotated[float, Meta(ge=0, le=1e9)]
Doubt = Annotated[float, Meta(gt=0, le=1e9)]
Milliseconds = Annotated[float, Meta(ge=0, le=1e5)]

WaiverReason = Literal["customer-refused", "no-instrument", "machine-taken-away", "other-tester"]


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused."""


class WorkTouched(_Record, frozen=True, kw_only=True, tag_field="kind", tag="work-touched"):
    """What the work touched, besides what the other facts tell; the latest one counts."""

    what: Annotated[list[Touched], Meta(max_length=5)] = []


class ApplianceTold(_Record, frozen=True, kw_only=True, tag_field="kind", tag="appliance-told"):
    """The appliance as the safety test needs it; lengths in m, section in mm2, power in kW."""

    protection: ProtectionClass
    heater_kw: Amount
    cord_m: Amount
    cord_mm2: Amount
    electronic_switch: bool = False
    surge_parts: bool = False
    rcd: bool = False


class SafetyLook(_Record, frozen=True, kw_only=True, tag_field="kind", tag="safety-look"):
    """A look or a run of the safety test."""

    test: Name
    outcome: Literal["pass", "fail"]


class SafetyReading(_Record, frozen=True, kw_only=True, tag_field="kind", tag="safety-reading"):
    """A reading of the safety test, in the unit of its limit, and what it was made with."""

    test: Name
    value: Amount
    uncertainty: Doubt
    instrument: Name
    calibrated: date
    due: date
    over_range: bool = False


class SafetyRcd(_Record, frozen=True, kw_only=True, tag_field="kind", tag="safety-rcd"):
    """Trip times of a residual-current device; ``no_trip`` where it did not trip at all."""

    at_rated_ms: Milliseconds | None = None
    at_five_ms: Milliseconds | None = None
    tripped_at_half: bool | None = None
    no_trip: bool = False


class SafetyReleased(_Record, frozen=True, kw_only=True, tag_field="kind", tag="safety-release"):
    """How the machine was left: with the verdicts and limits that were shown.

    ``by`` refers to the tester's name and licence, ``profile`` is the content hash of the
    country's rules, ``limits`` what held for each test.
    """

    release: Release
    country: Country
    profile: Digest
    verdicts: dict[Name, Outcome] = {}
    limits: dict[Name, Amount] = {}
    reason: WaiverReason | None = None
    by: WordsRef | None = None


TestTold = WorkTouched | ApplianceTold | SafetyLook | SafetyReading | SafetyRcd
"""What a decision rests on."""
SafetyBody = WorkTouched | ApplianceTold | SafetyLook | SafetyReading | SafetyRcd | SafetyReleased
