"""Tests of reading what people state about a machine."""

from __future__ import annotations

import math

import pytest

from tubside.pack.fault_model import PLUS, TIMES, TO
from tubside.pack.machine_schema import Move
from tubside.pack.parameters import CONTROLLER, PARAMETERS, Limit, Parameter
from tubside.pack.stated import UnfitError, stated_move, stated_spread, stated_value

OF: dict[str, Parameter | Limit] = {**PARAMETERS, **CONTROLLER}


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("cold_pressure", "350 kPa", 350e3),
        ("cold_pressure", "3.5 bar", 350e3),
        ("cold_temperature", "14 C", 287.15),
        ("regulator_flow", "6 L/min", 1e-4),
        ("spin_speed", "1200 rpm", 40 * math.pi),
        ("pump_strength", "0.5", 0.5),
        ("pump_strength", "50 %", 0.5),
        ("level_offset", "-3 cm", -0.03),
        ("bell_leak", "0", 0.0),
        ("fill_timeout", "10 min", 600.0),
    ],
)
def test_values_become_si(name: str, text: str, value: float) -> None:
    """Tests that a value with its unit is read into SI; a plain 0 needs no unit."""
    assert stated_value(text, OF[name]) == pytest.approx(value)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("cold_pressure", "350", "without its unit"),
        ("cold_pressure", "14 C", "temperature"),
        ("cold_temperature", "0", "without its unit"),
        ("pump_strength", "1.2", "lies from 0 to 1"),
        ("cold_pressure", "99 bar", "lies from 0 to 1.6e.06 Pa"),
        ("levelness", "level", "not understood"),
    ],
)
def test_what_does_not_fit_is_refused(name: str, text: str, said: str) -> None:
    """Tests that a missing or wrong unit and a value outside the limits are told."""
    with pytest.raises(UnfitError, match=said):
        stated_value(text, OF[name])


@pytest.mark.parametrize(
    ("name", "text", "value", "spread"),
    [
        ("cold_pressure", "0.35", 350e3, (0.35, True)),
        ("cold_pressure", "50 kPa", 350e3, (50e3, False)),
        ("cold_temperature", "4 K", 287.15, (4.0, False)),
        ("cold_temperature", "9 F", 287.15, (5.0, False)),
        ("level_offset", "5 mm", 0.0, (0.005, False)),
        ("siphon", "0.1", 0.0, (0.1, False)),
        ("pump_strength", "5 %", 1.0, (0.05, False)),
        ("valve_leak", "0", 0.0, (0.0, False)),
    ],
)
def test_spreads(name: str, text: str, value: float, spread: tuple[float, bool]) -> None:
    """Tests that a plain spread is logarithmic, one with a unit is not, differences in kelvin."""
    assert stated_spread(text, value, PARAMETERS[name]) == pytest.approx(spread)


@pytest.mark.parametrize(
    ("name", "text", "value", "said"),
    [
        ("cold_temperature", "0.2", 287.15, "has no unit"),
        ("level_offset", "0.2", 0.0, "has no unit"),
        ("valve_leak", "0.3", 0.0, "a share of a value that is 0"),
        ("cold_pressure", "-0.3", 350e3, "is negative"),
        ("cold_temperature", "-4 K", 287.15, "is negative"),
    ],
)
def test_spreads_that_cannot_be(name: str, text: str, value: float, said: str) -> None:
    """Tests that a logarithmic spread is refused where a value may be 0 or an offset."""
    with pytest.raises(UnfitError, match=said):
        stated_spread(text, value, PARAMETERS[name])


@pytest.mark.parametrize(
    ("name", "move", "compiled"),
    [
        ("cold_screen_open", Move(times=0.08, spread="0.6"), (TIMES, 0.08, 0.6)),
        ("level_offset", Move(plus="-4 cm", spread="1 cm"), (PLUS, -0.04, 0.01)),
        ("valve_leak", Move(plus="-6 L/min"), (PLUS, -1e-4, 0.0)),
        ("cold_temperature", Move(plus="-5 K", spread="2 K"), (PLUS, -5.0, 2.0)),
        ("ambient_temperature", Move(to="-4 C", spread="3 K"), (TO, 269.15, 3.0)),
        ("pump_strength", Move(to="0", spread="0.1"), (TO, 0.0, 0.1)),
    ],
)
def test_moves_become_si(name: str, move: Move, compiled: tuple[int, float, float]) -> None:
    """Tests the three ways in which a cause moves a parameter."""
    assert stated_move(move, PARAMETERS[name]) == pytest.approx(compiled)


@pytest.mark.parametrize(
    ("name", "move", "said"),
    [
        ("pump_strength", Move(), "says nothing"),
        ("pump_strength", Move(times=0.5, to="0"), "has times and to"),
        ("level_offset", Move(times=0.5), "may be negative"),
        ("cold_temperature", Move(times=0.5), "is a temperature"),
        ("pump_strength", Move(times=0.0), "'times' is 0"),
        ("drain_open", Move(times=0.5, spread="2 cm"), "no plain number"),
        ("pump_strength", Move(to="2"), "lies from 0 to 1"),
        ("pump_strength", Move(plus="3"), "cannot be added"),
        ("drain_lift", Move(plus="3 kg"), "3 kg"),
        ("cold_temperature", Move(plus="5"), "without its unit"),
        ("pump_strength", Move(to="0", share=1.5), "is no chance"),
        ("pump_strength", Move(to="0", share=0.0), "is no chance"),
    ],
)
def test_moves_that_cannot_be(name: str, move: Move, said: str) -> None:
    """Tests that each mistake in a move is told."""
    with pytest.raises(UnfitError, match=said):
        stated_move(move, PARAMETERS[name])
