"""How well tones keep their pitch, and pulses found again at their places."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.recordings.sound.heard import Scene, kind_of
from tubside.recordings.sound.hum import is_hum, without_hum
from tubside.recordings.sound.kept_pitch import leaving, pitch_near
from tubside.recordings.sound.partials import Array, partials, picture
from tubside.recordings.sound.pulse_groups import mended
from tubside.recordings.sound.pulse_places import filled
from tubside.recordings.sound.told import likelihoods
from tubside.recordings.sound.tones import Tone
from tubside.recordings.sound.track import RATE_HZ, Track

STARTS = (0.5, 0.9, 1.3, 1.7, 3.1, 3.5, 3.9, 4.3)


def sung(turns_hz: Array, size: float = 0.3) -> Track:
    """Return a tone of a pitch at each sample (N,) in faint noise."""
    noise = np.random.default_rng(1).normal(0, 0.003, turns_hz.size)
    wave = size * np.sin(2 * np.pi * np.cumsum(turns_hz) / RATE_HZ) + noise
    return Track(wave.astype(np.float32))


def train(starts: tuple[float, ...], loud: Array, noise: float = 0.02) -> Track:
    """Return pulses of 0.2 s at 1500 Hz, each as loud as is told."""
    t = np.arange(6 * RATE_HZ) / RATE_HZ
    wave = np.random.default_rng(2).normal(0, noise, t.size)
    for start, size in zip(starts, loud, strict=True):
        wave += size * np.sin(2 * np.pi * 1500 * t) * ((t >= start) & (t < start + 0.2))
    return Track(wave.astype(np.float32))


def heard(starts: tuple[float, ...]) -> list[Tone]:
    """Return tones as a first look finds them."""
    return [Tone(at, at + 0.2, 1500.0, 1.0, lead_hz=1500.0) for at in starts]


@pytest.mark.parametrize("hz", [611.3, 2904.7])
def test_the_pitch_of_a_piece(hz: float) -> None:
    """Tests a pitch within 0.1 Hz, from a guess 4 Hz beside it."""
    track = sung(np.full(RATE_HZ, hz))
    assert pitch_near(track, hz + 4, 0.2, 0.6) == pytest.approx(hz, abs=0.1)


def test_a_whine_leaves_its_pitch_and_a_beeper_does_not() -> None:
    """Tests that 0.6 % to and fro in three seconds is no steady tone, and none at all is."""
    t = np.arange(6 * RATE_HZ) / RATE_HZ
    tone = Tone(0.0, 6.0, 900.0, 1.0, lead_hz=900.0)
    kept = leaving(sung(np.full(t.size, 900.0)), [tone])
    left = leaving(sung(900 * (1 + 0.006 * np.sin(2 * np.pi * t / 3))), [tone])
    assert kept < 0.1
    assert left > 1.0
    for leaves, kind in ((kept, "steady"), (left, "none")):
        told = likelihoods(Scene((tone,), 1.0, 1.0, leaves=leaves), kind_of([tone]))
        assert max(told, key=lambda k: told[k]) == kind


def test_one_stroke_beside_many_pulses_does_not_count() -> None:
    """Tests that the middle one of the pieces decides, not the furthest."""
    pitch = np.full(6 * RATE_HZ, 1500.0)
    pitch[: RATE_HZ // 2] = 1512.0
    tones = heard((0.1, 0.7, 1.1, 1.5, 1.9))
    assert leaving(sung(pitch), tones) < 0.3


def test_a_note_over_the_hum_is_no_hum() -> None:
    """Tests a line of the mains that stands all along, and a note of its pitch over it."""
    t = np.arange(6 * RATE_HZ) / RATE_HZ
    wave = np.random.default_rng(3).normal(0, 0.01, t.size) + 0.01 * np.sin(2 * np.pi * 600 * t)
    wave += 0.2 * np.sin(2 * np.pi * 600.5 * t) * ((t > 3.0) & (t < 3.4))
    seen = picture(Track(wave.astype(np.float32)))
    near = [one for one in partials(seen) if abs(one.pitch_hz - 600) < 3]
    assert any(is_hum(seen, one) for one in near)
    kept = [one for one in without_hum(seen, near) if len(one.frames) * seen.hop_s > 0.05]
    assert len(kept) == 1
    assert seen.times_s[kept[0].frames[0]] == pytest.approx(3.0, abs=0.05)
    assert seen.times_s[kept[0].frames[-1]] == pytest.approx(3.4, abs=0.05)
    assert kept[0].pitch_hz == pytest.approx(600.5, abs=0.5)


def test_a_faint_pulse_is_found_at_its_place() -> None:
    """Tests that pulses left out in a train and at its end come back, a rest stays empty."""
    track = train(STARTS, np.full(8, 0.1))
    found = filled(track, heard((0.5, 0.9, 1.7, 3.1, 3.5, 3.9)))
    assert [tone.start_s for tone in found] == pytest.approx(STARTS, abs=0.05)


def test_noise_and_echoes_are_no_pulses() -> None:
    """Tests that neither empty places nor ones ten times weaker in power are filled."""
    loud = np.where(np.isin(STARTS, (1.3, 4.3)), 0.03, 0.1)
    told = tuple(at for at in STARTS if at not in {1.3, 4.3})
    track = train(STARTS, loud, noise=0.005)
    assert [tone.start_s for tone in filled(track, heard(told))] == list(told)


def test_uneven_tones_are_left_alone() -> None:
    """Tests that no train, no places."""
    tones = heard((0.5, 0.9, 1.7, 3.1))[:3]
    assert filled(train(STARTS, np.full(8, 0.1)), tones) == tones


def test_pulses_torn_at_the_same_place_are_whole() -> None:
    """Tests pulses of which a room's dip tears more than half, which then are all equal."""
    torn = [part for k in range(4) for part in ((k, k + 0.06), (k + 0.1, k + 0.3))]
    pieces = [Tone(a, b, 820.0, 1.0) for a, b in [*torn, (4.0, 4.3), (5.0, 5.29)]]
    whole = mended(pieces)
    assert [tone.start_s for tone in whole] == [0, 1, 2, 3, 4, 5]
    assert all(tone.length_s == pytest.approx(0.3, abs=0.02) for tone in whole)
    close = [Tone(0.17 * k, 0.17 * k + 0.09, 820.0, 1.0) for k in range(8)]
    assert mended(close) == close


def test_a_note_and_an_even_train_are_mixed() -> None:
    """Tests that four even pulses after a pause are no tune, though one note stands before."""
    note = Tone(0.0, 0.4, 862.0, 1.0)
    even = [Tone(3 + 0.2 * k, 3.1 + 0.2 * k, 1285.0, 1.0) for k in range(4)]
    assert kind_of([note, *even]) == "mixed"
    assert kind_of([note, *even[:2]]) == "notes"
