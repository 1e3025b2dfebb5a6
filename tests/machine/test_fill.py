"""Tests of the fill: what comes in, what runs out, and when the sensor is content."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_machines import machine_of, putting, sound
from tubside.machine.draws import Values
from tubside.machine.fill import Fill, Filling, fill
from tubside.machine.tub import empty_level, held_at_most

FAMILIES = ("top_load", "front_load")
shares = st.floats(0.0, 1.0)


def filled(family: str, values: Values, *, warm: bool = True) -> Fill:
    """A first fill by the family's limits."""
    limits = machine_of(family).controller
    filling = Filling(
        empty_level(values),
        held_at_most(values),
        limits["fill_timeout"],
        limits["overflow_level"],
        warm=warm,
    )
    return fill(values, filling)


@settings(deadline=None)  # the first draw loads scipy
@given(
    family=st.sampled_from(FAMILIES),
    tap=shares,
    screen=shares,
    siphon=st.sampled_from([0.0, 1.0]),
    leak=st.floats(0.0, 0.1),
    lift=st.floats(-0.5, 1.2),
)
def test_water_in_is_water_out_and_water_left(  # what a house can do to a fill
    family: str, tap: float, screen: float, siphon: float, leak: float, lift: float
) -> None:
    """Tests that what came in ran out, stands in the tub or is in the laundry."""
    values = putting(
        sound(family, 8),
        cold_tap_open=tap,
        hot_screen_open=screen,
        siphon=siphon,
        bell_leak=leak,
        drain_lift=lift,
    )
    done = filled(family, values)
    stands = (done.level - empty_level(values)) * values["tub_area"]
    assert done.cold + done.hot == pytest.approx(done.ran_out + stands + done.taken_up, abs=1e-9)


@settings(deadline=None)  # the first draw loads scipy
@given(family=st.sampled_from(FAMILIES), pressure=st.floats(1e3, 8e5), factor=st.floats(0.1, 0.95))
def test_less_pressure_never_fills_sooner(family: str, pressure: float, factor: float) -> None:
    """Tests that a fill takes no less time at a lower pressure of the house."""
    values = sound(family, 4)
    high = putting(values, cold_pressure=pressure, hot_pressure=pressure)
    low = putting(values, cold_pressure=factor * pressure, hot_pressure=factor * pressure)
    sooner, later = filled(family, high).seconds, filled(family, low).seconds
    assert (later >= sooner * (1.0 - 1e-9)).all()


def test_a_steady_fill_takes_volume_by_flow() -> None:
    """Tests the time of a fill where nothing hinders it: volume by the regulator's flow."""
    values = sound("front_load")
    volume = values["tub_area"] * (values["level_target"] - empty_level(values))
    volume = volume + held_at_most(values)
    done = filled("front_load", values)
    # the bell's pressure is not quite straight in the level within one cell: 1e-5
    assert done.seconds == pytest.approx(volume / values["regulator_flow"], rel=1e-5)
    assert done.level == pytest.approx(values["level_target"], abs=1e-6)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_siphon_that_takes_more_than_comes_never_fills(family: str) -> None:
    """Tests a fact of the trade: a drain that siphons keeps the tub from filling.

    Common practice, no source.
    """
    limited = putting(sound(family), siphon=1.0, regulator_flow=6.0 / 60e3)
    done = filled(family, limited)
    assert not done.content.any()
    assert done.level[0] < 0.5 * limited["level_target"][0]
    assert done.ran_out[0] > 0.5 * (done.cold + done.hot)[0]


def test_a_hose_end_above_the_water_lets_nothing_out() -> None:
    """Tests that a drain hose at the usual height takes nothing while the tub fills."""
    assert filled("top_load", sound("top_load", 64)).ran_out == pytest.approx(0.0, abs=0.0)


def test_hot_that_runs_out_leaves_the_wash_cold() -> None:
    """Tests that a small store makes the wash cooler, by what the store lacked."""
    values = sound("top_load")
    warm = filled("top_load", values)
    cool = filled("top_load", putting(values, hot_volume=0.010))
    target = values["wash_target"][0]
    assert warm.temperature[0] == pytest.approx(target, abs=2.0)
    # ten litres at 58 C among 59 litres at 14 C
    total = (cool.hot + cool.cold)[0]
    mean = (10e-3 * 331.15 + (total - 10e-3) * 287.15) / total
    assert cool.temperature[0] == pytest.approx(mean, abs=0.3)


def test_a_long_dead_leg_cools_the_wash() -> None:
    """Tests that water that stood cold in the pipe stays in the tub."""
    values = sound("top_load", 64)
    short = filled("top_load", putting(values, dead_leg=0.001))
    long = filled("top_load", putting(values, dead_leg=0.020))
    assert (long.temperature < short.temperature - 3.0).all()


def test_crossed_hoses_never_give_the_programs_temperature() -> None:
    """Tests that with hot and cold crossed a warm wash is hot or cold, and a cold rinse hot."""
    crossed = putting(sound("top_load"), hoses_swapped=1.0)
    wash = filled("top_load", crossed)
    rinse = filled("top_load", crossed, warm=False)
    assert abs(wash.temperature[0] - crossed["wash_target"][0]) > 6.0
    assert rinse.temperature[0] > 320.0


@pytest.mark.parametrize("family", FAMILIES)
def test_a_leaking_bell_lets_the_water_rise_to_the_rim(family: str) -> None:
    """Tests that a bell that loses its air fast never feels the target, and a little late."""
    values = sound(family)
    slow = filled(family, putting(values, bell_leak=1e-3))
    fast = filled(family, putting(values, bell_leak=0.5))
    assert slow.content.all()
    assert (slow.level > values["level_target"]).all()
    assert fast.at_rim.all()
    assert not fast.content.any()


@settings(deadline=None)  # the first draw loads scipy
@given(offset=st.floats(-0.06, 0.2))
def test_a_sensor_that_errs_fills_by_as_much_too_little(offset: float) -> None:
    """Tests that the level ends at the target less the sensor's error, and never below empty."""
    values = putting(sound("top_load"), level_offset=offset, bell_leak=0.0)
    done = filled("top_load", values)
    assert done.content.all()
    # the bell's water makes its pressure some per mille less than the depth
    wanted = values["level_target"][0] - offset
    assert done.level[0] == pytest.approx(wanted, abs=0.003)


def test_no_supply_fills_nothing() -> None:
    """Tests that with both taps shut nothing comes, and time runs out."""
    values = putting(sound("top_load"), cold_tap_open=0.0, hot_tap_open=0.0)
    done = filled("top_load", values)
    assert not done.content.any()
    assert done.cold + done.hot == pytest.approx(0.0, abs=1e-12)
    assert done.seconds == pytest.approx(machine_of("top_load").controller["fill_timeout"])


def test_a_share_of_hot_comes_by_the_controllers_own_sensor() -> None:
    """Tests that a sensor that reads 5 K too high makes the wash about 5 K too cold."""
    values = sound("top_load")
    right = filled("top_load", values).temperature[0]
    wrong = filled("top_load", putting(values, thermistor_offset=5.0)).temperature[0]
    assert right - wrong == pytest.approx(5.0, abs=0.5)
    assert np.isfinite(wrong)
