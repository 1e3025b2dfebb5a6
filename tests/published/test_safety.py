"""Limits of the test after repair against what standards print.

Copper (IEC 60228), capacitors (IEC 60335-1, 22.5), currents through insulation and the form
of EN 50699 stand with the electrics.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

import printed
from printed import Row
from tubside.safety.appliance import Appliance
from tubside.safety.judging import rcd_verdict
from tubside.safety.limits import limit_for, with_power
from tubside.safety.profile_schema import Test
from tubside.safety.profiles import load_profile

TRIALS = {
    "34 ms at rated current passes": (34.0, 30.0, False),
    "310 ms at rated current fails": (310.0, 30.0, False),
    "41 ms at five times it fails": (200.0, 41.0, False),
    "trips at 15 mA fails": (200.0, 30.0, True),
}


def in_item(row: Row, unit: str) -> float:
    """The number before a unit in the words of an item."""
    found = re.search(rf"([\d.]+) {unit}\b", row.item)
    assert found is not None
    return float(found[1])


def in_country(country: str, test: Test, appliance: Appliance) -> float:
    """The limit that a country's profile gives."""
    held = limit_for(load_profile(country).profile, test, appliance)
    assert held is not None
    return held.value


def by_cord(country: str) -> Callable[[Row], float]:
    """The limit of the protective conductor for a cord of 1 mm2."""
    return lambda row: in_country(country, "conductor", Appliance("I", 2.0, in_item(row, "m"), 1.0))


def german_current(row: Row) -> float:
    """The limit of the current in the protective conductor, Germany."""
    machine = Appliance("I", in_item(row, "kW"), 1.5, 1.5)
    return in_country("DE", "protective-current", machine)


def trips(row: Row) -> float:
    """1 where the device passes, 0 where it fails."""
    rule = load_profile("NZ").profile.rcd
    assert rule is not None
    rated, five, half = TRIALS[row.item]
    found = rcd_verdict(rule, at_rated_ms=rated, at_five_ms=five, tripped_at_half=half)
    return float({"pass": 1, "fail": 0}[found.outcome])


OURS: dict[str, Callable[[Row], float]] = {
    "iet_conductor": by_cord("GB"),
    "vde_0701_conductor": by_cord("DE"),
    "dguv_203_071": german_current,
    "iec_60335_1_leakage": lambda row: with_power(0.75, 0.75, 5.0, in_item(row, "kW")),
    "wet_appliances_leakage": lambda row: with_power(3.5, 1.0, 5.0, in_item(row, "kW")),
    "nz_rcd": trips,
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_printed_values(row: Row) -> None:
    """Tests that limits and verdicts are those that standards and their accounts print."""
    printed.check(row, OURS[row.table](row))
