"""The machine of a model: its sheet goes before the family's numbers, and says so."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from tubside.machine.as_built import Said, as_built, said_of, said_of_all
from tubside.machine.draws import base_draws, middle_draw, values_with
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Machine
from tubside.pack.home import packs_folder
from tubside.pack.loading import load_pack
from tubside.panel.schema import Panel, SheetValue
from tubside.service.model_file import read_model


@pytest.fixture(scope="module")
def family() -> Machine:
    """The machine of the front-loaders."""
    found = load_pack(packs_folder() / "front_load").model.machine
    assert found is not None
    return found


@pytest.fixture(scope="module")
def wren() -> Panel:
    """A model of the family, with nothing of its own."""
    panel = read_model(packs_folder() / "front_load" / "models" / "brackwater-wren.yaml")
    return msgspec.structs.replace(panel, machine={}, controller={})


def told(panel: Panel, tolerance: str | None = None, **values: str) -> Panel:
    """The model with these values on its sheet."""
    sheet = {
        name: SheetValue(value=text, known_from="sheet", page="12", tolerance=tolerance)
        for name, text in values.items()
    }
    return msgspec.structs.replace(panel, sheet=sheet)


def at(machine: Machine, name: str) -> float:
    """The middle of a parameter."""
    return float(machine.middle[machine.parameters.index(name)])


def read(machine: Machine, quantity: str) -> float:
    """What the middle machine shows."""
    return float(QUANTITIES[quantity].formula(values_with(machine, middle_draw(machine), ()))[0])


def test_no_sheet_changes_nothing(family: Machine, wren: Panel) -> None:
    """Tests that a model without own numbers is its family's machine."""
    built = as_built(family, wren)
    assert np.array_equal(built.middle, family.middle)
    assert built.controller == family.controller
    assert built.constants == {}


@pytest.mark.parametrize(
    ("name", "text", "quantity", "expected"),
    [
        ("heater_resistance", "30 Ω", "heater_ohms", 30.0),
        ("capacitance", "20 µF", "capacitance", 20e-6),
        ("rated_voltage", "120 V", "mains_rest_voltage", 120.0),
    ],
)
def test_a_value_is_what_is_expected(
    family: Machine, wren: Panel, name: str, text: str, quantity: str, expected: float
) -> None:
    """Tests plain values by the reading that shows them, and what is said of it."""
    panel = told(wren, **{name: text})
    assert read(as_built(family, panel), quantity) == pytest.approx(expected, rel=1e-12)
    (said,) = said_of(panel, quantity)
    assert said.value == text
    assert said.source == "from your service sheet, p. 12"
    assert said_of(panel, "drain_time") == ()


def test_the_sensor_of_the_sheet(family: Machine, wren: Panel) -> None:
    """Tests R25 and B: at 25 C the sensor has its R25, whatever the B."""
    panel = told(wren, thermistor_25="4.8 kΩ", thermistor_b="3977 K")
    built = as_built(family, panel)
    values = values_with(built, middle_draw(built), ())
    values["ambient_temperature"] = np.array([298.15])
    assert QUANTITIES["thermistor_ohms"].formula(values) == pytest.approx([4800.0], rel=1e-12)
    assert len(said_of(panel, "thermistor_ohms")) == 2
    assert read(built, "thermistor_ohms") > 4800.0  # the room is at 19 C, and it falls with heat


def test_watts_give_the_ohms(family: Machine, wren: Panel) -> None:
    """Tests 2000 W at 230 V: 26.45 ohm (U squared by P), unless the ohms are known."""
    plate = {"heater_power": "2000 W", "rated_voltage": "230 V"}
    assert at(as_built(family, told(wren, **plate)), "heater_resistance") == pytest.approx(26.45)
    assert [it.title for it in said_of(told(wren, **plate), "heater_ohms")] == [
        "power of the heater"
    ]
    both = told(wren, heater_resistance="27 Ω", **plate)
    assert at(as_built(family, both), "heater_resistance") == 27.0
    alone = told(wren, heater_power="2000 W")
    assert np.array_equal(as_built(family, alone).middle, family.middle)


def test_limits_and_load(family: Machine, wren: Panel) -> None:
    """Tests the controller's times, the load of a drum, and the lowest voltage of 120 V."""
    panel = told(wren, fill_timeout="5 min", rated_load="10 kg", rated_voltage="115 V")
    built = as_built(family, panel)
    assert built.controller["fill_timeout"] == 300.0
    assert built.controller["lowest_voltage"] == pytest.approx(
        family.controller["lowest_voltage"] / 2
    )
    assert at(built, "load_mass") == 5.0
    assert at(as_built(family, panel, drum=False), "load_mass") == at(family, "load_mass")
    assert built.constants["rated_voltage"] == 115.0
    assert len(said_of_all(panel)) == 3


def test_a_tolerance_is_two_deviations(family: Machine, wren: Panel) -> None:
    """Tests that 95 in 100 sound ones lie within a stated tolerance, else as in the family."""
    stated = as_built(family, told(wren, "10 %", heater_resistance="30 Ω"))
    ohms = base_draws(stated, 4096).base[stated.parameters.index("heater_resistance")]
    inside = np.mean(np.abs(np.log(ohms / 30.0)) < 0.1)
    assert inside == pytest.approx(0.954, abs=0.005)
    plain = as_built(family, told(wren, "3 Ω", heater_resistance="30 Ω"))
    assert np.allclose(plain.spread, stated.spread)
    unstated = as_built(family, told(wren, heater_resistance="30 Ω"))
    assert np.array_equal(unstated.spread, family.spread)


def test_what_a_family_has_not_is_left(family: Machine, wren: Panel) -> None:
    """Tests a machine cut down to some parameters: others on the sheet do no harm."""
    few = [family.parameters.index("mains_voltage")]
    small = Machine(
        parameters=("mains_voltage",),
        middle=family.middle[few],
        spread=family.spread[few],
        logarithmic=family.logarithmic[few],
        low=family.low[few],
        high=family.high[few],
        moves=(),
        controller={},
    )
    built = as_built(small, told(wren, spin_speed="1400 rpm", fill_timeout="5 min"))
    assert np.array_equal(built.middle, small.middle)
    assert built.controller == {}


def test_words() -> None:
    """Tests the line that stands beside an expectation."""
    said = Said("heater element", "26 Ω", "from your service sheet, p. 12")
    assert said.words == "heater element 26 Ω from your service sheet, p. 12"
