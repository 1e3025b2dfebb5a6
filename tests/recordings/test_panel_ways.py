"""Whole panels explained: two multiplexes on one, steps with a beat, clips that disagree."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from tubside.recordings.beats import beat_rates
from tubside.recordings.flash_ways import SHORTEST_S, strange_price
from tubside.recordings.lamp_levels import levelled
from tubside.recordings.lamp_model import explanations
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import read_lamps
from tubside.recordings.panel_ways import panel_ways
from tubside.recordings.rhythms import Rhythm
from tubside.trial.lamps_on_camera import Box, film


def hand_made(brightness: NDArray[np.float64]) -> LampSeries:
    """Return a clip of 30 frames a second."""
    names = tuple("abcd"[: len(brightness)])
    times = np.arange(brightness.shape[1]) / 30
    return LampSeries(names, times, brightness, np.zeros(len(names)))


def test_a_panel_of_two_multiplexes_is_read_in_two_parts() -> None:
    """Tests a steady lamp that strobes at 2 Hz beside lamps seen in every frame."""
    panel = film(np.random.default_rng(750010), Box(groups=2))
    names = tuple(f"lamp-{k}" for k in range(len(panel.lamps)))
    clip = LampSeries(names, panel.times_s, panel.brightness, panel.row_s, panel.row_times_s)
    ways = panel_ways(explanations(clip, levelled(clip)), clip.length_s)
    best = max(ways, key=lambda way: way.nats)
    assert len(best.parts) == 2
    groups = [set(np.flatnonzero(part.lit) % 2) for part in best.parts]
    assert sorted(groups, key=min) == [{0}, {1}]
    read = read_lamps([clip]).lamps.values()
    pairs = zip(read, panel.lamps, strict=True)
    assert all(lamp.state in {"unknown", true.state} for lamp, true in pairs)


def test_half_the_frame_rate_is_a_peak() -> None:
    """Tests that lamps lit in every other frame give a beat of 15 Hz at 30 frames a second."""
    turns = np.arange(240) % 2
    clip = hand_made(np.array([turns, 1 - turns]) * 1.0)
    assert beat_rates(clip, levelled(clip))[0] == pytest.approx(15.0, abs=0.01)


def test_clips_that_contradict_one_another_leave_a_lamp_open() -> None:
    """Tests a lamp steady on one clip and flashing on the other, each quite surely."""
    t = np.arange(240) / 30
    steady, flash = np.ones(240), (t % 0.9 < 0.45) * 1.0
    clips = [hand_made(np.array([steady, other])) for other in (steady, flash)]
    alone = [read_lamps([clip]).lamps["b"].state for clip in clips]
    assert alone == ["steady", "flashing"]
    read = read_lamps(clips).lamps
    assert (read["a"].state, read["b"].state) == ("steady", "unknown")


@pytest.mark.parametrize(
    ("period_s", "duty", "beat_hz", "dear"),
    [
        (1.0, 0.5, None, False),
        (0.25, 0.9 * SHORTEST_S / 0.25, None, True),
        (1.0, 0.1, None, True),
        (0.5, 0.5, 2.0, True),
        (0.5, 0.5, 1.3, False),
    ],
)
def test_strange_flashes_are_dear(
    period_s: float, duty: float, beat_hz: float | None, dear: bool
) -> None:
    """Tests that a flash too short to see, too uneven, or in step with the beat is paid for."""
    price = strange_price(Rhythm(0.0, period_s, 0.0, duty), beat_hz, 8.0)
    assert (price > 10.0) == dear
