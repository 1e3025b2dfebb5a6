"""Lamps from brightness series: made by the simulator and by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import AGAIN, read_lamps
from tubside.trial.lamps_on_camera import Box, FilmedPanel, film

INTEGRATES = Box(exposure_s=(1 / 50, 1 / 35), multiplex_hz=(80.0, 300.0), glare=0.0)


def series(panel: FilmedPanel) -> LampSeries:
    """Return what the reader is given of a filmed panel."""
    names = tuple(f"lamp-{k}" for k in range(len(panel.lamps)))
    return LampSeries(names, panel.times_s, panel.brightness, panel.row_s, panel.row_times_s)


@pytest.mark.parametrize("seed", [0, 1])
def test_a_camera_that_integrates_shows_lamps_as_they_are(seed: int) -> None:
    """Tests that each lit lamp is read rightly when every frame sees a pulse, none wrongly."""
    panel = film(np.random.default_rng(seed), INTEGRATES)
    lamps = read_lamps([series(panel)]).lamps.values()
    pairs = [(lamp.state, true.state) for lamp, true in zip(lamps, panel.lamps, strict=True)]
    assert all(said in {"unknown", true} for said, true in pairs)
    assert all(said == true for said, true in pairs if true != "off")


@pytest.mark.parametrize("seed", [0, 3, 5])
def test_a_lamp_never_sampled_is_never_off(seed: int) -> None:
    """Tests that a multiplex locked to the frame rate gives "unknown" for hidden lamps."""
    box = Box(exposure_s=(1 / 1500, 1 / 1000), multiplex_hz=(90.0, 250.0), locked=True, glare=0)
    panel = film(np.random.default_rng(seed), box)
    read = read_lamps([series(panel)])
    hidden = [
        lamp.state
        for lamp, true, seen in zip(read.lamps.values(), panel.lamps, panel.sampled, strict=True)
        if true.state != "off" and not seen
    ]
    assert "off" not in hidden
    assert not hidden or AGAIN in read.advice


def hand_made(brightness: NDArray[np.float64]) -> LampSeries:
    """Return a clip of 30 frames a second."""
    names = tuple("abcd"[: len(brightness)])
    times = np.arange(brightness.shape[1]) / 30
    return LampSeries(names, times, brightness, np.zeros(len(names)))


def test_lamps_in_turn_stand_in_two_groups() -> None:
    """Tests period, share lit and groups of two lamps that flash in turn, one with the first.

    A fourth lamp stays lit: it shows that no beat makes the others flash.
    """
    t = np.arange(240) / 30
    first = (t % 1.0 < 0.5) * 1.0
    read = read_lamps([hand_made(np.array([first, 1.0 - first, first, np.ones(240)]))])
    a, b, c, _ = read.lamps.values()
    assert (a.state, b.state) == ("flashing", "flashing")
    assert a.period_s == pytest.approx(1.0, abs=0.02)
    assert a.duty == pytest.approx(0.5, abs=1 / 30)
    assert a.group == c.group != b.group


def test_a_blink_count_comes_from_complete_groups() -> None:
    """Tests that a group cut off by an end of the clip is not counted."""
    t = np.arange(300) / 30
    place = (t + 0.5) % 3.0
    lit = ((place < 1.2) & (place % 0.4 < 0.2)) * 1.5
    lamp = read_lamps([hand_made(np.array([lit]))]).lamps["a"]
    assert lamp.state == "flashing"
    assert set(lamp.counts) == {3}


def test_likelihoods_add_to_one_and_hidden_lamps_stay_open() -> None:
    """Tests that a lamp under glare all the time gives equal likelihoods."""
    y = np.ones((2, 240))
    y[1] = np.nan
    lamp = read_lamps([hand_made(y)]).lamps["b"]
    assert lamp.state == "unknown"
    assert list(lamp.probability.values()) == pytest.approx([1 / 3] * 3, abs=1e-4)


def test_two_clips_of_other_lamps_are_refused() -> None:
    """Tests that clips of different lamps are not mixed."""
    one = hand_made(np.ones((2, 60)))
    with pytest.raises(RecordingError, match="same lamps"):
        read_lamps([one, dataclasses.replace(one, names=("a", "x"))])


def test_a_short_clip_is_refused() -> None:
    """Tests that a clip of a few frames is refused with what to do."""
    with pytest.raises(RecordingError, match="ten seconds"):
        hand_made(np.ones((1, 5)))
