"""What the facts of the safety test say on the line of a job."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tubside.safety.appliance import TOUCHED_WORDS
from tubside.safety.required import Release
from tubside.service.safety import told_of
from tubside.service.safety_records import (
    ApplianceTold,
    SafetyLook,
    SafetyRcd,
    SafetyReading,
    SafetyReleased,
    WaiverReason,
    WorkTouched,
)

RELEASE_WORDS: dict[Release, str] = {
    "released": "released",
    "not-released": "not released: disabled and marked",
    "waived": "closed without the test",
}
REASON_WORDS: dict[WaiverReason, str] = {
    "customer-refused": "the customer refused it",
    "no-instrument": "no instrument at hand",
    "machine-taken-away": "the machine was taken away",
    "other-tester": "somebody else tests it",
}
TEST_WORDS = {
    "look": "look",
    "polarity": "polarity",
    "devices": "protective devices",
    "conductor": "protective conductor",
    "insulation": "insulation",
    "protective-current": "current in the protective conductor",
    "touch-current": "touch current",
    "rcd": "residual-current device",
    "run": "function and leak run",
}
UNIT_WORDS = {"ohm": "Ω", "Mohm": "MΩ", "mA": "mA"}
UNIT_OF = {
    "conductor": "Ω",
    "insulation": "MΩ",
    "protective-current": "mA",
    "touch-current": "mA",
}


def _touched(body: WorkTouched) -> str:
    told = ", ".join(TOUCHED_WORDS[one] for one in body.what)
    return f"Work: {told or 'nothing that asks for a safety test'}"


def _appliance(body: ApplianceTold) -> str:
    heater = f"heater {body.heater_kw:g} kW" if body.heater_kw else "no heater"
    cord = f"cord {body.cord_m:g} m of {body.cord_mm2:g} mm²"
    return f"Appliance of class {body.protection}, {heater}, {cord}"


def _test(test: str) -> str:
    return TEST_WORDS.get(test, test)


def _released(body: SafetyReleased) -> str:
    reason = f", {REASON_WORDS[body.reason]}" if body.reason else ""
    return f"Safety test: {RELEASE_WORDS[body.release]}{reason}"


SAFETY_SAYS: dict[type[Any], Callable[..., str]] = {
    WorkTouched: _touched,
    ApplianceTold: _appliance,
    SafetyLook: lambda body: f"Safety test, {_test(body.test)}: {told_of(body)}",
    SafetyReading: lambda body: (
        f"Safety test, {_test(body.test)}: {told_of(body)} {UNIT_OF.get(body.test, '')}".rstrip()
    ),
    SafetyRcd: lambda body: f"Safety test, residual-current device: {told_of(body)}",
    SafetyReleased: _released,
}
