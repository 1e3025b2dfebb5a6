"""Tests of the machine as a circuit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_machines import putting, sound
from tubside.machine import circuit
from tubside.physics.standard import ICE_POINT


def test_a_heater_gives_its_power_less_what_the_lead_takes() -> None:
    """Tests V^2 / R at the plug of a strong supply, and at a weak one's own voltage."""
    strong = putting(sound("front_load"), mains_resistance=0.0, heater_resistance=26.45)
    assert circuit.heater_power(strong)[0] == pytest.approx(2000.0, rel=1e-3)
    weak = putting(strong, mains_resistance=2.0)
    left = circuit.load_voltage(weak)[0]
    assert left == pytest.approx(230.0 * 26.45 / 28.45)
    assert circuit.heater_power(weak)[0] == pytest.approx(left**2 / 26.45)


def test_a_machine_without_heater_loads_the_socket_with_its_motor() -> None:
    """Tests that a top-loader's voltage under load is that of its motor's power."""
    values = putting(sound("top_load"), running_power=500.0, mains_resistance=1.0)
    ohms = 230.0**2 / 500.0
    assert circuit.load_voltage(values)[0] == pytest.approx(230.0 * ohms / (ohms + 1.0))


@settings(deadline=None)  # the first draw loads scipy
@given(lead=st.floats(0.0, 18.0), more=st.floats(0.1, 2.0))
def test_a_longer_lead_never_makes_a_stronger_drive(lead: float, more: float) -> None:
    """Tests that torque falls with the resistance of supply and lead, from whole downwards."""
    values = sound("top_load")
    near = circuit.strength_of_mains(putting(values, mains_resistance=lead))[0]
    far = circuit.strength_of_mains(putting(values, mains_resistance=lead + more))[0]
    assert 0.0 <= far <= near <= 1.0


def test_a_sound_supply_leaves_the_drive_its_torque() -> None:
    """Tests that within the mains' band the drive has all its torque, far below it has not."""
    values = sound("top_load")
    assert circuit.strength_of_mains(putting(values, mains_voltage=207.0))[0] == 1.0
    assert circuit.strength_of_mains(putting(values, mains_voltage=160.0))[0] < 0.7


@pytest.mark.parametrize(
    ("celsius", "ohms"), [(0, 35.9e3), (30, 9.7e3), (40, 6.6e3), (50, 4.6e3), (60, 3.2e3)]
)
def test_the_thermistor_is_that_of_a_service_sheet(celsius: float, ohms: float) -> None:
    """Tests R25 and B against the table of a service sheet that they were worked out from.

    Within 6 %: one B holds for no more over 60 K, and the sheet prints two digits.
    """
    values = putting(sound("front_load"), ambient_temperature=ICE_POINT + celsius)
    assert circuit.thermistor_ohms(values)[0] == pytest.approx(ohms, rel=0.06)


def test_a_drain_pump_takes_what_such_pumps_take() -> None:
    """Tests the current of a pump, 0.3 to 1 A at 230 V (common practice, no source)."""
    current = circuit.pump_current(sound("front_load", 256))
    assert ((current > 0.3) & (current < 1.0)).all()


def test_leakage_adds_over_the_parts() -> None:
    """Tests that heater and other live parts leak side by side."""
    values = putting(sound("front_load"), insulation=1e6, heater_insulation=1e6)
    assert circuit.earth_resistance(values)[0] == pytest.approx(5e5)
    assert circuit.earth_leakage(values)[0] == pytest.approx(
        2.0 * circuit.leakage(values["insulation"], values)[0]
    )
    assert np.isfinite(circuit.earth_leakage(putting(values, insulation=0.0))).all()
