"""Tests of what a dryer's control stops for and people notice."""

from __future__ import annotations

import numpy as np
import pytest

from made_machines import machine_of, model_of, putting, sound
from tubside.machine.controller import Noticed, noticed, parts_of
from tubside.machine.draws import Values
from tubside.machine.drying_events import PARTS
from tubside.machine.playing import play_any

LIMITS = machine_of("dryer").controller
NAMES = model_of("dryer").names.conditions


def of_run(values: Values) -> Noticed:
    """What is noticed of the run of some machines."""
    return noticed(play_any(values, LIMITS), LIMITS, model_of("dryer"))


def stops(**changed: float) -> str | None:
    """The condition that stops the middle machine with some parameters changed."""
    first = int(of_run(putting(sound("dryer"), **changed)).first[0])
    return None if first < 0 else NAMES[first]


def shows(**changed: float) -> set[str]:
    """Everything that shows of it up to its stop."""
    found = of_run(putting(sound("dryer"), **changed)).shown[:, 0]
    return {name for name, met in zip(NAMES, found, strict=True) if met}


@pytest.mark.parametrize(
    ("changed", "condition"),
    [
        ({}, None),
        ({"mains_voltage": 0.0}, "no_power"),
        ({"controller_runs": 0.1}, "no_power"),
        ({"insulation": 1e3}, "tripping"),
        ({"heater_insulation": 1e3}, "tripping"),
        ({"lock_works": 0.0}, "door_not_shut"),
        ({"controller_runs": 0.5}, "wont_start"),
        ({"drum_turns": 0.0}, "no_tumble"),
        ({"winding_resistance": 1e7}, "no_tumble"),
        ({"motor_torque": 3.0}, "no_tumble"),
        ({"tank_room": 5e-4}, "tank_full"),
    ],
)
def test_what_stops_it(changed: dict[str, float], condition: str | None) -> None:
    """Tests that each stopping condition follows from its own parameter."""
    assert stops(**changed) == condition


@pytest.mark.parametrize(
    ("changed", "symptom"),
    [
        ({"heater_resistance": 1e8}, "no_heat"),
        ({"fuse_resistance": 1e8}, "no_heat"),
        ({"filter_open": 0.03}, "takes_too_long"),
        ({"load_mass": 9.0, "drum_transfer": 60.0}, "takes_too_long"),
        ({"load_moisture": 1.3}, "takes_too_long"),
        ({"thermostat_opens": 380.0, "filter_open": 0.1}, "too_hot"),
        ({"moisture_offset": -0.2}, "stops_early"),
        ({"moisture_offset": 0.2}, "wont_stop"),
        ({"air_kept": 0.0}, "room_damp"),
        ({"bearing_drag": 9.0}, "noisy"),
    ],
)
def test_what_people_notice(changed: dict[str, float], symptom: str) -> None:
    """Tests that each symptom follows from its parameter, and that a sound machine shows none."""
    assert symptom in shows(**changed)
    assert shows() == set()


def test_at_least_97_of_100_sound_machines_end_well() -> None:
    """Tests drawn machines without any cause."""
    assert np.mean(of_run(sound("dryer", 2000)).well) >= 0.97


def test_parts_stand_for_stages_of_the_pack() -> None:
    """Tests that every part of a run names a stage of the family."""
    assert set(PARTS.values()) <= set(model_of("dryer").names.stages)
    assert parts_of(play_any(sound("dryer"), LIMITS)) is PARTS
