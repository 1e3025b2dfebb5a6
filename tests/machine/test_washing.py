"""Tests of what the drive has to move, and of the heat stage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_machines import putting, sound
from tubside.machine import washing
from tubside.machine.warming import warm
from tubside.physics.standard import ICE_POINT

FAMILIES = ("top_load", "front_load")


@settings(deadline=None)  # the first draw loads scipy
@given(family=st.sampled_from(FAMILIES), load=st.floats(0.5, 12.0), more=st.floats(0.1, 6.0))
def test_more_laundry_never_turns_easier(family: str, load: float, more: float) -> None:
    """Tests that the drive's margin only falls with the load."""
    values = sound(family)
    level = values["level_target"]
    light = washing.drive_margin(putting(values, load_mass=load), level)
    heavy = washing.drive_margin(putting(values, load_mass=load + more), level)
    assert heavy[0] <= light[0] + 1e-12


def test_too_little_water_for_the_load_holds_the_agitator() -> None:
    """Tests that a full load at a level chosen too low rests on the agitator, not in the water."""
    values = putting(sound("top_load"), load_mass=6.0)
    full = washing.drive_margin(values, values["level_target"])
    low = washing.drive_margin(values, 0.4 * values["level_target"])
    assert full[0] > 1.0
    assert low[0] < 0.8 * full[0]


def test_a_basket_that_does_not_come_free_turns_along() -> None:
    """Tests that a float or clutch that does not do its job takes the drive's margin away."""
    values = sound("top_load")
    stuck = putting(values, clutch_engages=0.0)
    level = values["level_target"]
    assert washing.drive_margin(stuck, level)[0] < 1.0 < washing.drive_margin(values, level)[0]


def test_soft_water_makes_more_suds() -> None:
    """Tests that the same spoonful foams more in soft water and not at all at half of it."""
    values = putting(sound("top_load"), detergent=2.0)
    soft = washing.suds_height(putting(values, hardness=0.2), 0.0)
    hard = washing.suds_height(putting(values, hardness=4.0), 0.0)
    assert soft[0] > hard[0] > 0.0
    assert washing.suds_height(putting(values, detergent=0.5), 0.0)[0] == 0.0


def test_a_rinse_takes_suds_away() -> None:
    """Tests that each rinse leaves less foam."""
    values = putting(sound("top_load"), detergent=3.0)
    heights = [float(washing.suds_height(values, rinses)[0]) for rinses in (0.0, 1.0, 2.0)]
    assert heights == sorted(heights, reverse=True)
    assert heights[2] < 0.2 * heights[0]


@settings(deadline=None)  # the first draw loads scipy
@given(start=st.floats(5.0, 35.0), volume=st.floats(0.008, 0.030), loss=st.floats(0.0, 40.0))
def test_the_heaters_energy_is_in_the_bath_or_in_the_room(
    start: float, volume: float, loss: float
) -> None:
    """Tests the balance of the heat stage: power x time = C dT + integral of U (T - room).

    The loss is summed by the trapezium rule over 400 points, good for 1e-6 of the whole.
    """
    values = putting(sound("front_load"), heat_loss=loss)
    begin = np.full(1, ICE_POINT + start)
    done = warm(values, np.full(1, volume), begin, 7200.0)
    from tubside.physics.heater import heated  # noqa: PLC0415  # only to trace the way

    times = np.linspace(0.0, float(done.seconds[0]), 400)
    way = heated(done.bath, done.power, begin, times[:, None])[:, 0]
    lost = np.trapezoid(loss * (way - values["ambient_temperature"][0]), times)
    stored = float(np.asarray(done.bath.capacity)[0]) * (done.temperature[0] - begin[0])
    given_off = done.power[0] * done.seconds[0]
    assert stored + lost == pytest.approx(given_off, rel=1e-5, abs=1.0)


def test_a_long_extension_lead_makes_heating_slower() -> None:
    """Tests that voltage lost in a lead takes its square from the heater's power."""
    values = sound("front_load")
    volume, cold = np.full(1, 0.015), values["cold_temperature"]
    near = warm(values, volume, cold, 7200.0)
    far = warm(putting(values, mains_resistance=3.0), volume, cold, 7200.0)
    # 26.5 ohm behind 3 ohm instead of 0.5: (27.0 / 29.5)^2 of the power
    assert far.power[0] / near.power[0] == pytest.approx((27.0 / 29.5) ** 2, rel=1e-6)
    assert far.needed[0] > near.needed[0]


def test_a_sensor_that_reads_low_heats_too_far() -> None:
    """Tests that a sensor 8 K low ends 8 K too warm, and one 8 K high as much too cool."""
    values = sound("front_load")
    volume, cold = np.full(1, 0.015), values["cold_temperature"]
    for offset in (-8.0, 8.0):
        done = warm(putting(values, thermistor_offset=offset), volume, cold, 7200.0)
        assert done.temperature[0] == pytest.approx(values["wash_target"][0] - offset, abs=1e-6)


def test_an_open_heater_never_warms() -> None:
    """Tests that a heater without current never brings the water to its temperature."""
    values = putting(sound("front_load"), heater_resistance=1e9)
    done = warm(values, np.full(1, 0.015), values["cold_temperature"], 3600.0)
    assert np.isinf(done.needed).all()
    assert done.temperature[0] < values["wash_target"][0] - 15.0
