"""Tests of which tests are made, and of how a job may close."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from tubside.errors import SafetyError
from tubside.safety.appliance import Appliance, Touched
from tubside.safety.profiles import countries, load_profile
from tubside.safety.required import Release, asks_for_test, may_waive, way_to_close
from tubside.safety.which_tests import plan_for


def ids(country: str, appliance: Appliance, *touched: Touched) -> list[str]:
    """The ids of the tests in order."""
    return [item.id for item in plan_for(load_profile(country).profile, appliance, touched)]


@pytest.mark.parametrize("country", countries())
@pytest.mark.parametrize("protection", ["I", "II"])
def test_order(country: str, protection: str) -> None:
    """Tests that it begins with a look and polarity, ends with the run, and warns before each."""
    machine = Appliance("I" if protection == "I" else "II", 2.0, 1.5, 1.0)
    plan = plan_for(load_profile(country).profile, machine, ["cord-or-plug"])
    assert [item.id for item in plan[:2]] == ["look", "polarity"]
    assert plan[-1].id == "run"
    assert all(item.beware and item.how for item in plan)
    assert ("conductor" in [item.id for item in plan]) == (protection == "I")
    assert all(item.held for item in plan if item.kind == "reading")


def test_electronic_switch() -> None:
    """Tests that leakage under power stands in where insulation does not reach."""
    plain = Appliance("I", 0.0, 1.5, 1.0)
    switched = replace(plain, electronic_switch=True)
    assert "protective-current" not in ids("NZ", plain)
    assert "insulation" not in ids("NZ", switched)
    assert "protective-current" in ids("NZ", switched)
    assert {"insulation", "protective-current"} <= set(ids("DE", plain))


def test_rcd_where_shock_was_told() -> None:
    """Tests that the device is tested where shock or tripping was reported."""
    machine = Appliance("I", 0.0, 1.5, 1.0)
    assert "rcd" not in ids("NZ", machine, "cover-opened")
    assert "rcd" in ids("NZ", machine, "shock-or-tripping")


@pytest.mark.parametrize("touched", get_args(Touched))
@pytest.mark.parametrize("country", countries())
def test_nothing_waives_a_duty(country: str, touched: Touched) -> None:
    """Tests that where it is a duty only a passed test or "not released" closes the job."""
    profile = load_profile(country).profile
    ways = {
        (release, passed): way_to_close(profile, [touched], release, passed=passed)
        for release in (None, *get_args(Release))
        for passed in (True, False)
    }
    assert asks_for_test([touched])
    assert ways["released", False] == ways[None, True] == "blocked"
    assert (ways["waived", False] == "blocked") == (not may_waive(profile))
    assert ways["not-released", False] == "not-released"
    assert ways["released", True] == "released"


def test_appliances_that_cannot_be() -> None:
    """Tests that a cord or heater that cannot be is refused."""
    for kilowatts, metres, section in ((-1.0, 1.5, 1.0), (2.0, 0.0, 1.0), (2.0, 1.5, 3.0)):
        with pytest.raises(SafetyError):
            Appliance("I", kilowatts, metres, section)
