"""Tests of what the controller notices, by moving the parameter that should bring it about."""

from __future__ import annotations

import numpy as np
import pytest

from made_machines import machine_of, model_of, played, putting, shows, sound, stopped_by
from tubside.machine.controller import PARTS, events

FAMILIES = ("top_load", "front_load")
EITHER: list[tuple[str, dict[str, float]]] = [
    ("no_power", {"controller_runs": 0.0}),
    ("no_power", {"mains_voltage": 90.0}),
    ("tripping", {"insulation": 2e3}),
    ("wont_start", {"controller_runs": 0.5}),
    ("no_water", {"cold_tap_open": 0.0, "hot_tap_open": 0.0}),
    ("no_water", {"cold_valve_open": 0.0, "hot_valve_open": 0.0}),
    ("overflow", {"bell_leak": 0.5}),
    ("overflow", {"level_offset": -0.2}),
    ("overflow", {"valve_leak": 5e-5}),
    ("motor_locked", {"agitation_torque": 0.5}),
    ("motor_locked", {"spin_torque": 0.3}),
    ("wont_drain", {"pump_strength": 0.0}),
    ("wont_drain", {"drain_open": 0.0}),
    ("wont_drain", {"drain_lift": 2.5}),
    ("wont_drain", {"level_offset": 0.08}),
    ("suds", {"detergent": 6.0}),
    ("out_of_balance", {"load_offset": 4.0}),
    ("out_of_balance", {"damping_ratio": 0.02}),
]
CASES = [
    *((family, condition, moved) for family in FAMILIES for condition, moved in EITHER),
    ("top_load", "overload", {"load_mass": 9.0}),
    ("front_load", "overload", {"load_mass": 12.0}),
    ("top_load", "lid_not_locked", {"lock_works": 0.0}),
    ("front_load", "door_not_locked", {"lock_works": 0.0}),
    ("front_load", "wont_heat", {"heater_resistance": 1e9}),
    ("front_load", "wont_heat", {"mains_resistance": 20.0, "mains_voltage": 160.0}),
    ("front_load", "tripping", {"heater_insulation": 2e3}),
]
SYMPTOMS = [
    ("top_load", "fills_slowly", {"cold_pressure": 12e3}),
    ("top_load", "wrong_temperature", {"hot_volume": 0.005}),
    ("top_load", "wrong_temperature", {"hoses_swapped": 1.0}),
    ("front_load", "wrong_temperature", {"thermistor_offset": 10.0}),
    ("top_load", "washes_badly", {"agitation_torque": 4.95}),
    ("top_load", "washes_badly", {"level_offset": 0.15}),
    ("top_load", "wont_spin", {"spin_torque": 1.1}),
    ("front_load", "wont_spin", {"spin_torque": 1.2}),
    ("top_load", "noisy", {"bearing_drag": 3.5}),
    ("front_load", "noisy", {"spring_stiffness": 4e5}),
]


@pytest.mark.parametrize(("family", "condition", "moved"), CASES)
def test_a_stopping_condition_comes_from_its_parameter(
    family: str, condition: str, moved: dict[str, float]
) -> None:
    """Tests that moving the obvious parameter of a middle machine stops it for that."""
    assert stopped_by(family, putting(sound(family), **moved)) == condition


def test_every_stopping_condition_of_the_packs_can_come_about() -> None:
    """Tests that the cases leave out no stopping condition of either pack."""
    for family in FAMILIES:
        model = model_of(family)
        names = np.array(model.names.conditions)[model.complaint.stopping]
        assert {condition for of, condition, _ in CASES if of == family} == set(names)


@pytest.mark.parametrize(("family", "condition", "moved"), SYMPTOMS)
def test_a_symptom_comes_from_its_parameter(
    family: str, condition: str, moved: dict[str, float]
) -> None:
    """Tests that people would notice it, whether or not the cycle goes on."""
    assert condition in shows(family, putting(sound(family), **moved))
    assert condition not in shows(family, sound(family))


@pytest.mark.parametrize("family", FAMILIES)
def test_a_sound_machine_on_an_ordinary_site_ends_well(family: str) -> None:
    """Tests that at least 97 of 100 sound machines end their cycle."""
    found = played(family, sound(family, 4096))[1]
    assert found.well.mean() >= 0.97
    assert (found.stage[found.well] == -1).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_the_middle_machine_has_nothing_to_show(family: str) -> None:
    """Tests that the middle machine shows no condition at all."""
    assert shows(family, sound(family)) == set()


def test_the_first_in_the_cycle_is_what_stops_it() -> None:
    """Tests that of several faults the earliest in the cycle is noticed and hides the rest."""
    values = putting(sound("top_load"), pump_strength=0.0, load_offset=4.0, cold_valve_open=0.0)
    values = putting(values, hot_valve_open=0.0)
    cycle, found = played("top_load", values)
    names = model_of("top_load").names
    assert names.conditions[found.first[0]] == "no_water"
    assert names.stages[found.stage[0]] == "fill"
    reached = {name for name, met in zip(names.conditions, found.reached[:, 0], strict=True) if met}
    assert "no_water" in reached
    assert "wont_drain" not in shows("top_load", values)
    assert cycle.left.size == 1


def test_symptoms_do_not_hide_what_follows() -> None:
    """Tests that a slow fill goes on, and the drain behind it is still noticed."""
    values = putting(sound("top_load"), cold_pressure=8e3, pump_strength=0.0)
    assert stopped_by("top_load", values) == "wont_drain"
    values = putting(sound("front_load"), regulator_flow=2.5 / 60e3, pump_strength=0.0)
    assert stopped_by("front_load", values) == "wont_drain"
    assert "fills_slowly" in shows("front_load", values)


def test_a_time_out_of_the_model_decides() -> None:
    """Tests that the same machine stops or goes on by its controller's own limit."""
    values = putting(sound("front_load"), regulator_flow=2.5 / 60e3)
    patient = played("front_load", values, fill_timeout=1200.0)[1]
    hasty = played("front_load", values, fill_timeout=200.0)[1]
    assert patient.first[0] == -1
    assert model_of("front_load").names.conditions[hasty.first[0]] == "no_water"


@pytest.mark.parametrize(
    ("family", "condition", "moved"),
    [
        ("top_load", "no_water", {"cold_pressure": 1e3, "hot_pressure": 1e3}),
        ("top_load", "no_water", {"siphon": 1.0, "regulator_flow": 6 / 60e3}),
        ("front_load", "no_water", {"siphon": 1.0}),
        ("front_load", "no_water", {"drain_lift": -0.2}),
        ("top_load", "wont_drain", {"standpipe_flow": 4 / 60e3}),
    ],
)
def test_what_the_house_does_stops_a_sound_machine(
    family: str, condition: str, moved: dict[str, float]
) -> None:
    """Tests that causes at the site alone bring stops: pressure, drain height, siphon, pipe."""
    assert stopped_by(family, putting(sound(family), **moved)) == condition


def test_events_come_in_the_order_of_the_cycle() -> None:
    """Tests that what is noticed is told in the order in which a cycle meets it."""
    for family in FAMILIES:
        cycle, _ = played(family, sound(family))
        parts = [event.part for event in events(cycle, machine_of(family).controller)]
        order = [list(PARTS).index(part) for part in parts]
        assert order == sorted(order)
