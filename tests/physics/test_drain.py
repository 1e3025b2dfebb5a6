"""Tests of pump, drain and siphon."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import drain, pipes, restrictions, water
from tubside.physics.drain import DrainPump, Emptying
from tubside.physics.standard import STANDARD_GRAVITY

shares = st.floats(0.0, 1.0)
pumps = st.builds(DrainPump, st.floats(0.5, 4.0), st.floats(1e-4, 1e-3), shares)
lifts = st.floats(-2.0, 4.0)
tubs = st.builds(Emptying, pumps, st.floats(0.05, 0.5), st.floats(-1.0, 2.0), st.floats(0.02, 1.0))
depths = st.floats(0.0, 0.6)


@settings(deadline=None)
@given(pumps, lifts, lifts)
def test_higher_lift_less_flow(pump: DrainPump, one: float, two: float) -> None:
    """Tests that a higher hose end never drains faster."""
    low, high = sorted((one, two))
    assert drain.drain_flow(pump, high) <= drain.drain_flow(pump, low) * (1 + 1e-3)


@settings(deadline=None)
@given(pumps, lifts, shares, shares)
def test_blockage_only_slows(pump: DrainPump, lift: float, one: float, two: float) -> None:
    """Tests that less open area never drains faster, and none does not drain."""
    low, high = sorted((one, two))
    slow, fast = drain.drain_flow(pump, lift, low), drain.drain_flow(pump, lift, high)
    assert slow <= fast * (1 + 1e-3)
    assert float(drain.drain_flow(pump, lift, 0.0)) == 0.0


@settings(deadline=None)
@given(pumps, lifts, st.floats(0.05, 1.0))
def test_heads_balance(pump: DrainPump, lift: float, opening: float) -> None:
    """Tests that at the flow the pump's head is the lift and what the hose loses (1 %).

    With less than 50 mm to spare it only trickles, and friction is not settled so well.
    """
    flow = drain.drain_flow(pump, lift, opening)
    if float(flow) == 0.0:
        assert float(drain.pump_head(pump, 0.0)) <= lift
        return
    spare = float(np.asarray(pump.head)) * float(np.asarray(pump.strength)) - lift
    if spare < 0.05:
        return
    line = drain.USUAL_LINE
    speed = flow / line.hose.area
    lost = line.ends + restrictions.narrowing_loss(opening)
    thin = water.viscosity(drain.WARM) / water.density(drain.WARM)
    lost = lost + pipes.pipe_factor(line.hose, speed, thin)
    needed = lift + lost * speed**2 / (2 * STANDARD_GRAVITY)
    assert float(drain.pump_head(pump, flow) - needed) == pytest.approx(0.0, abs=0.01 * spare)


@settings(deadline=None)
@given(pumps, st.floats(0.5, 1.0), st.floats(1e-5, 5e-4))
def test_strength_is_speed_squared(pump: DrainPump, ratio: float, flow: float) -> None:
    """Tests that a weaker pump is the same pump at less speed, by the affinity laws."""
    new = replace(pump, strength=1.0)
    worn = replace(pump, strength=ratio**2)
    at_flow, at_head, _ = drain.at_other_speed(flow, drain.pump_head(new, flow), 1.0, ratio)
    assert float(drain.pump_head(worn, at_flow)) == pytest.approx(float(at_head), abs=1e-12)


@settings(deadline=None)
@given(tubs, depths, depths, depths)
def test_times_add(tub: Emptying, one: float, two: float, three: float) -> None:
    """Tests that draining by way of a middle depth takes as long as at once (2 %)."""
    low, middle, high = sorted((one, two, three))
    whole = float(drain.drain_time(tub, high, low))
    parts = float(drain.drain_time(tub, high, middle)) + float(drain.drain_time(tub, middle, low))
    if np.isfinite(whole) and np.isfinite(parts):
        assert parts == pytest.approx(whole, rel=0.02, abs=1.0)


@settings(deadline=None)
@given(tubs, depths, st.floats(0.0, 600.0))
def test_depth_after_falls_to_what_stands(tub: Emptying, start: float, seconds: float) -> None:
    """Tests that water only falls, and not below what the pump cannot lift."""
    left = float(drain.depth_after(tub, start, seconds))
    stands = float(drain.standing_level(tub.pump, tub.end_height))
    assert min(start, stands) - 1e-9 <= left <= start


@settings(deadline=None)
@given(tubs, depths)
def test_volume_is_kept(tub: Emptying, start: float) -> None:
    """Tests that what leaves in a second is the flow of that moment (2 %)."""
    second = 0.5
    left = float(drain.depth_after(tub, start, second))
    lift = float(np.asarray(tub.end_height)) - start
    flow = float(drain.drain_flow(tub.pump, lift, tub.drain_open))
    spare = float(np.asarray(tub.pump.strength)) * float(np.asarray(tub.pump.head)) - lift
    if start > 0.05 and spare > 0.3:
        gone = (start - left) * float(np.asarray(tub.area)) / second
        assert gone == pytest.approx(flow, rel=0.06)


def test_never_emptied() -> None:
    """Tests that a dead pump, a blocked drain and a lift too high take for ever."""
    tub = Emptying(DrainPump(2.0, 6e-4), 0.25, 0.9)
    for hopeless in (
        replace(tub, pump=DrainPump(2.0, 6e-4, 0.0)),
        replace(tub, drain_open=0.0),
        replace(tub, end_height=2.1),
    ):
        assert float(drain.drain_time(hopeless, 0.2)) == np.inf
        assert float(drain.depth_after(hopeless, 0.2, 3600.0)) == pytest.approx(0.2, abs=0.11)
    assert float(drain.drain_time(replace(tub, drain_open=0.0), 0.2, 0.2)) == 0.0


def test_a_low_hose_siphons_without_a_pump() -> None:
    """Tests that a hose ending below the water empties the tub with the pump dead."""
    dead = DrainPump(2.0, 6e-4, 0.0)
    assert float(drain.drain_flow(dead, -0.5)) > 0.0
    assert float(drain.drain_flow(dead, 0.1)) == 0.0


@settings(deadline=None)
@given(st.floats(0.0, 10.0), st.floats(0.0, 50.0))
def test_losses_slow_a_siphon(drop: float, loss: float) -> None:
    """Tests that a siphon turns all its drop into speed and losses."""
    speed = float(drain.siphon_speed(drop, loss))
    assert (1 + loss) * speed**2 / (2 * STANDARD_GRAVITY) == pytest.approx(drop, abs=1e-9)


def test_many_machines_at_once() -> None:
    """Tests that arrays of pumps and tubs give what each gives alone."""
    strength = np.array([0.0, 0.5, 1.0])
    together = drain.drain_time(Emptying(DrainPump(2.0, 6e-4, strength), 0.25, 0.9), 0.2)
    alone = [
        float(drain.drain_time(Emptying(DrainPump(2.0, 6e-4, s), 0.25, 0.9), 0.2))
        for s in strength.tolist()
    ]
    assert together.tolist() == pytest.approx(alone)


def test_what_cannot_be_is_refused() -> None:
    """Tests that a pump stronger than new and a lift beyond a house are refused."""
    with pytest.raises(OutsideRangeError, match="strength"):
        drain.drain_flow(DrainPump(2.0, 6e-4, 1.1), 0.9)
    with pytest.raises(OutsideRangeError, match="lift"):
        drain.drain_flow(DrainPump(2.0, 6e-4), 20.0)
    with pytest.raises(OutsideRangeError, match="ratio"):
        drain.at_other_speed(1.0, 1.0, 1.0, 10.0)


@pytest.mark.parametrize(
    ("tub", "name"),
    [
        (Emptying(DrainPump(2.0, 0.0), 0.25, 0.9), "flow of the pump"),
        (Emptying(DrainPump(-2.0, 6e-4), 0.25, -1.9), "head of the pump"),
        (Emptying(DrainPump(2.0, 6e-4), 0.0, 0.9), "area of the tub"),
    ],
)
def test_no_such_tub(tub: Emptying, name: str) -> None:
    """Tests that a pump without flow, one with negative head and a tub without area are refused."""
    with pytest.raises(OutsideRangeError, match=name):
        drain.drain_time(tub, 0.2)
