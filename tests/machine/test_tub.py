"""Tests of the tub as a vessel and of what its sensor makes of a level."""

from __future__ import annotations

import numpy as np
import pytest

from made_machines import putting, sound
from tubside.machine.inlet import cold_line, drawn, hose_end_flow, hot_line, inlets
from tubside.machine.tub import cell_times, empty_level, sensed, travel, wanted_pressure


def test_a_sound_sensor_is_content_at_the_target() -> None:
    """Tests that the sensor of an exact machine reports the target at the target."""
    values = sound("top_load")
    felt = sensed(values, values["level_target"])
    assert felt == pytest.approx(wanted_pressure(values))


def test_a_sensor_that_errs_adds_the_pressure_of_its_error() -> None:
    """Tests that 2 cm of error are 196 Pa (rho g h, 998.2 kg/m3)."""
    values = sound("top_load")
    off = sensed(putting(values, level_offset=0.02), values["level_target"])
    assert off - sensed(values, values["level_target"]) == pytest.approx(195.8, abs=0.1)


def test_a_bell_that_loses_air_reads_less() -> None:
    """Tests that the sensor reads less the longer a leaking bell stands under water."""
    values = putting(sound("top_load"), bell_leak=1e-3)
    level = values["level_target"]
    felt = [float(sensed(values, level, seconds)[0]) for seconds in (0.0, 60.0, 600.0, 6000.0)]
    assert felt == sorted(felt, reverse=True)
    assert felt[-1] < 0.2 * felt[0]


def test_the_empty_tub_stands_below_the_bell_by_its_sump() -> None:
    """Tests that from the empty level to the bell's mouth there is just the sump's water."""
    values = sound("top_load", 16)
    assert -empty_level(values) * values["tub_area"] == pytest.approx(values["sump_volume"])


def test_a_level_travels_through_cells_until_time_is_up() -> None:
    """Tests cells of 1, 2 and endless seconds: half of the second after 2 s, then no further."""
    levels = np.array([[0.0], [0.1], [0.3], [0.4]])
    cells = cell_times(levels, np.array([1.0]), np.array([[0.1], [0.1], [-0.1]]))
    assert cells[:, 0].tolist() == pytest.approx([1.0, 2.0, np.inf])
    assert travel(levels, cells, 2.0).level[0] == pytest.approx(0.2)
    assert travel(levels, cells, 99.0).level[0] == pytest.approx(0.3)
    assert travel(levels, cells, 99.0).passed[:, 0].tolist() == pytest.approx([1.0, 2.0, 96.0])


def test_hot_comes_cold_first_and_ends_cold() -> None:
    """Tests the temperature of water drawn: dead leg, store, and what refills it."""
    values = putting(sound("top_load"), dead_leg=0.004, hot_volume=0.050)
    line = hot_line(values)
    first, middle, last = (float(drawn(line, np.full(1, v))[0]) for v in (0.003, 0.040, 0.4))
    assert first == pytest.approx(values["cold_temperature"][0], abs=0.01)
    assert middle > first + 30.0
    assert first < last < middle


def test_crossed_hoses_bring_the_other_supply() -> None:
    """Tests that crossed hoses swap pressure and temperature at the valves, not at the taps."""
    values = putting(sound("top_load"), hot_pressure=2e4)
    right, crossed = inlets(values), inlets(putting(values, hoses_swapped=1.0))
    assert crossed.cold_flow == pytest.approx(right.hot_flow, rel=1e-6)
    assert crossed.cold.temperature == pytest.approx(values["hot_temperature"])
    assert hose_end_flow(cold_line(values)) > hose_end_flow(hot_line(values))


def test_a_machine_of_one_inlet_takes_no_hot() -> None:
    """Tests that where no hot inlet is used nothing comes through it."""
    assert inlets(sound("front_load", 8)).hot_flow == pytest.approx(0.0, abs=0.0)
