"""Tests of a dryer's run over time."""

from __future__ import annotations

import numpy as np
import pytest

from made_machines import machine_of, model_of, putting, sound
from tubside.machine.controller import noticed
from tubside.machine.draws import Values
from tubside.machine.drying import moisture_at, run
from tubside.machine.drying_course import DryingCourse, drying_course

LIMITS = machine_of("dryer").controller


def course_of(values: Values) -> DryingCourse:
    """The course of the first machine."""
    played = run(values, LIMITS)
    return drying_course(played, LIMITS, noticed(played, LIMITS, model_of("dryer")))


def test_it_begins_wet_and_ends_as_the_run_does() -> None:
    """Tests the ends of the curves, and that laundry only loses water."""
    values = sound("dryer")
    played, course = run(values, LIMITS), course_of(values)
    assert course.moisture[0] == pytest.approx(values["load_moisture"][0])
    assert course.moisture[-1] == pytest.approx(played.moisture[0], abs=2e-3)
    assert (np.diff(course.moisture) <= 1e-9).all()
    assert course.time[-1] == pytest.approx(played.seconds[0] + LIMITS["cool_time"])
    assert [band.part for band in course.bands] == ["dry", "cool"]
    assert course.stopped is None


def test_moisture_follows_the_rate_while_wet() -> None:
    """Tests that between two times the water lost is the rate of the wet period."""
    played = run(sound("dryer"), LIMITS)
    times = np.array([0.2, 0.4]) * played.wet_seconds[0]
    moisture, _, _ = moisture_at(played, times)
    lost = float(played.values["load_mass"][0]) * (moisture[0] - moisture[1])
    assert lost == pytest.approx(float(played.rate[0]) * (times[1] - times[0]), rel=1e-6)


def test_a_full_tank_ends_it_on_the_way() -> None:
    """Tests that a machine that stops for its tank has lost about what the tank holds."""
    values = putting(sound("dryer"), tank_room=0.5e-3)
    course = course_of(values)
    assert course.stopped == course.time[-1]
    lost = float(values["load_mass"][0]) * (course.moisture[0] - course.moisture[-1])
    assert 0.3 < lost <= 0.55


@pytest.mark.parametrize(("name", "part"), [("lock_works", "start"), ("drum_turns", "tumble")])
def test_a_stop_before_the_heat_is_a_short_try(name: str, part: str) -> None:
    """Tests that nothing dries where the door is open or the drum does not turn."""
    course = course_of(putting(sound("dryer"), **{name: 0.0}))
    assert [band.part for band in course.bands] == [part]
    assert course.moisture[0] == course.moisture[-1]
    assert (course.power == 0.0).all()
