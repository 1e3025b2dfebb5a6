"""Rounds of lamps: true where they may be, on one beat, whole, never above three a second."""

from __future__ import annotations

from itertools import pairwise

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import UnknownNameError
from tubside.panel.lights import FLASHING, OFF, STEADY, Light, blinks
from tubside.panel.moving.loop import LONGEST_S, loop_of, most_flashes
from tubside.panel.rhythm import MOST_FLASHES_PER_S
from tubside.panel.schema import Panel

LIGHTS = st.lists(
    st.sampled_from([OFF, STEADY, FLASHING, *(blinks(n) for n in range(1, 13))]),
    min_size=1,
    max_size=6,
)


def showing(panel: Panel, lights: list[Light], period_s: float, gap_s: float) -> Panel:
    """Return the panel with one indication of these lights in the panel's order of lamps."""
    name = next(iter(panel.indications))
    shown = msgspec.structs.replace(
        panel.indications[name],
        lamps={lamp: str(light) for lamp, light in zip(panel.lamps, lights, strict=False)},
        period_s=period_s,
        gap_s=gap_s,
    )
    return msgspec.structs.replace(panel, indications={"it": shown})


@given(
    lights=LIGHTS,
    period=st.floats(0.02, 5.0),
    gap=st.floats(0.1, 30.0),
    speed=st.sampled_from([0.5, 1.0, 3.0]),
)
def test_no_loop_flashes_above_three_a_second(
    wren: Panel, lights: list[Light], period: float, gap: float, speed: float
) -> None:
    """Tests the flashes of every second of every round, also over its end, however fast."""
    loop = loop_of(showing(wren, lights, period, gap), "it", speed)
    assert most_flashes(loop.starts_s, loop.lit, loop.length_s) <= MOST_FLASHES_PER_S
    longest = max(LONGEST_S, 12 * loop.rhythm.period_s + loop.rhythm.gap_s)
    assert loop.length_s <= longest + 1e-6
    assert all(b - a > 0.02 for a, b in pairwise([*loop.starts_s, loop.length_s])), "too short"


@given(
    light=st.sampled_from([FLASHING, blinks(1), blinks(5)]),
    period=st.floats(1 / 3 + 1e-9, 5.0),
    gap=st.floats(0.1, 30.0),
)
def test_one_rhythm_within_the_limit_is_drawn_true(
    wren: Panel, light: Light, period: float, gap: float
) -> None:
    """Tests that period and gap are the model's own up to three flashes a second."""
    loop = loop_of(showing(wren, [light, STEADY], period, gap), "it")
    assert not loop.rhythm.slowed
    assert (loop.rhythm.period_s, loop.rhythm.gap_s) == pytest.approx((period, gap))
    rises = loop.starts_s[loop.lit[:, 0]]
    assert len(rises) == max(light.count, 1)
    assert np.diff(rises) == pytest.approx([period] * (len(rises) - 1), abs=2e-6)


def test_counts_light_on_one_beat(wren: Panel) -> None:
    """Tests by hand: 2 and 3 blinks at 0.8 s, gap 3 s drawn as 4 periods; 6 and 7 periods."""
    loop = loop_of(showing(wren, [blinks(2), blinks(3)], 0.8, 3.0), "it")
    assert loop.length_s == pytest.approx(6 * 7 * 0.8)
    assert not loop.cut
    assert loop.rhythm.slowed
    rises = [(loop.lit[:, lamp] & ~np.roll(loop.lit[:, lamp], 1)).sum() for lamp in (0, 1)]
    assert rises == [7 * 2, 6 * 3]
    short = loop_of(showing(wren, [blinks(2), blinks(3)], 0.8, 3.0), "it", longest_s=20.0)
    assert short.cut
    assert short.length_s == pytest.approx(3 * 7 * 0.8)


def test_too_fast_is_slowed_and_known(wren: Panel) -> None:
    """Tests that 8 flashes a second are drawn at 1 / 0.34 s, the true rate kept."""
    loop = loop_of(showing(wren, [FLASHING], 0.125, 1.0), "it")
    assert loop.rhythm.slowed
    assert loop.rhythm.drawn_hz == pytest.approx(1 / 0.34)
    assert loop.rhythm.true_hz == pytest.approx(8)


def test_nothing_moves_in_a_still_round(wren: Panel) -> None:
    """Tests that steady and dark lamps make one state, and an unknown name is refused."""
    loop = loop_of(showing(wren, [STEADY, OFF], 1.0, 1.0), "it")
    assert not loop.moves
    assert loop.lit.tolist() == [[True] + [False] * 5]
    with pytest.raises(UnknownNameError, match="has no indication other; it has it"):
        loop_of(showing(wren, [OFF], 1.0, 1.0), "other")
