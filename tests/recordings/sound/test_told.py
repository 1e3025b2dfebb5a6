"""What a sound tells, from simulated recordings and plain ones."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import resample_poly

import made_noises
import made_sounds
from tubside.recordings.sound.heard import KINDS, Scene, kind_of, scene
from tubside.recordings.sound.pulse_groups import mended
from tubside.recordings.sound.told import AGAIN, CUT, ToldSound, likelihoods, read_sound
from tubside.recordings.sound.tones import Tone
from tubside.recordings.sound.track import RATE_HZ, Track

Wave = made_sounds.Wave


def track(wave: Wave) -> Track:
    """Return a simulated recording at the reader's rate."""
    return Track(resample_poly(wave, 160, 441).astype(np.float32))


def beeps(starts: list[float], pitches: list[float], long: float, length: float) -> Track:
    """Return plain tones in faint noise."""
    t = np.arange(int(length * RATE_HZ)) / RATE_HZ
    wave = np.random.default_rng(7).normal(0, 1e-3, t.size)
    for start, hz in zip(starts, pitches, strict=True):
        inside = (t >= start) & (t < start + long)
        wave += 0.3 * inside * np.sin(2 * np.pi * hz * t)
    return Track(wave.astype(np.float32))


def read(kind: str, seed: int, snr_db: float) -> tuple[made_sounds.MadeSound, ToldSound]:
    """Return a simulated recording's truth and what is told of it."""
    made = made_sounds.made_sound(seed, snr_db, kind)
    return made, read_sound(track(made.wave))


@pytest.mark.parametrize("kind", list(made_sounds.KINDS))
@pytest.mark.parametrize("snr_db", [0.0, pytest.param(-10.0, marks=pytest.mark.soak)])
def test_messages_are_told(kind: str, snr_db: float) -> None:
    """Tests that notes, pulses, both and a steady tone are told in noise, counts exact."""
    made, told = read(kind, 204, snr_db)
    assert told.kind == made.kind
    assert told.probability[told.kind] > 0.8
    if made.count:
        assert told.pulses is not None
        assert (told.pulses.count, told.pulses.groups) == (made.count, made.groups)
        assert told.pulses.period_s == pytest.approx(made.period_s, abs=0.012)
    if kind == "notes":
        heard = np.array([note.pitch_hz for note in told.notes])
        assert all(np.abs(heard / true - 1).min() < 0.01 for true in made.pitches_hz)
        repeated = int(np.sum(np.diff(made.pitches_hz) == 0))  # with no gap they are one
        assert len(made.pitches_hz) - repeated <= len(heard) <= len(made.pitches_hz)


@pytest.mark.parametrize("kind", list(made_noises.NOISES))
@pytest.mark.parametrize("snr_db", [0.0, pytest.param(-10.0, marks=pytest.mark.soak)])
def test_other_sounds_are_no_message(kind: str, snr_db: float) -> None:
    """Tests that speech, music, motors, knocks, squeals and plain noise are called none."""
    told = read_sound(track(made_sounds.made_sound(201, snr_db, kind, most_s=2.5).wave))
    assert told.kind == "none"
    assert not told.notes
    assert told.pulses is None


def test_a_rise_of_two_notes_is_notes() -> None:
    """Tests two short notes, the second an octave up, which a plain reader misses."""
    told = read_sound(beeps([0.3, 0.42], [440.0, 880.0], 0.11, 2.0))
    assert told.kind == "notes"
    assert [note.pitch_hz for note in told.notes] == pytest.approx([440, 880], rel=0.01)


def test_groups_of_two() -> None:
    """Tests twelve pulses in six groups of two, a quarter of a second apart."""
    starts = [0.3 + group * 1.0 + k * 0.25 for group in range(6) for k in range(2)]
    told = read_sound(beeps(starts, [4096.0] * 12, 0.12, 6.5))
    assert told.pulses is not None
    assert (told.kind, told.pulses.count, told.pulses.groups) == ("pulses", 12, (2,) * 6)
    assert told.pulses.period_s == pytest.approx(0.25, abs=0.005)
    assert told.pulses.pitch_hz == pytest.approx(4096, rel=0.002)


def test_a_tone_all_through_is_steady() -> None:
    """Tests a tone that fills the recording, and tells its pitch."""
    told = read_sound(beeps([0.0], [2300.0], 6.0, 6.0))
    assert told.kind == "steady"
    assert told.pitch_hz == pytest.approx(2300, rel=0.002)


def test_hum_of_the_mains_is_no_tone() -> None:
    """Tests that lines at multiples of twice the mains, all along, are left out."""
    t = np.arange(4 * RATE_HZ) / RATE_HZ
    wave = sum(np.sin(2 * np.pi * 100 * k * t) / k for k in range(1, 9))
    noise = np.random.default_rng(1).normal(0, 0.5, t.size)
    told = read_sound(Track((0.1 * (wave + noise)).astype(np.float32)))
    assert told.kind == "none"


def test_likelihoods_add_to_one() -> None:
    """Tests that the likelihoods of the kinds add to one, and doubt lowers the first."""
    tones = tuple(Tone(k * 0.5, k * 0.5 + 0.2, 2000.0, 1.0) for k in range(3))
    sure = likelihoods(Scene(tones, 1.0, 1.0, 0.0), "pulses")
    doubtful = likelihoods(Scene(tones, 0.6, 1.0, 0.0), "pulses")
    for chances in (sure, doubtful):
        assert set(chances) == set(KINDS)
        assert sum(chances.values()) == pytest.approx(1, abs=3e-4)
    assert doubtful["pulses"] < 0.3
    assert sure["pulses"] > 0.9


def test_notes_and_then_pulses() -> None:
    """Tests that pulses after a tune and a pause are told apart from repeated last notes."""
    tune = [Tone(k * 0.3, k * 0.3 + 0.25, hz, 1.0) for k, hz in enumerate((523.0, 659.0, 784.0))]
    late = [Tone(2.5 + k * 0.4, 2.7 + k * 0.4, 2500.0, 1.0) for k in range(3)]
    close = [Tone(0.9 + k * 0.3, 1.15 + k * 0.3, 784.0, 1.0) for k in range(2)]
    assert kind_of([*tune, *late]) == "mixed"
    same = [Tone(t.start_s, t.end_s, 784.0, 1.0) for t in late]
    assert kind_of([*tune, *same]) == "mixed"
    assert kind_of([*tune, *close]) == "notes"


def test_advice_is_given() -> None:
    """Tests that a doubtful or cut recording comes with what to do."""
    cut = beeps([0.3, 0.9, 1.5], [2000.0] * 3, 0.3, 2.5)
    told = read_sound(Track(cut.samples, cut=True))
    assert told.advice == (CUT,)
    wave, _ = made_noises.speech(np.random.default_rng(5))
    said = read_sound(track(wave[: 3 * made_sounds.FS] / np.abs(wave).max()))
    assert (AGAIN in said.advice) == (said.probability[said.kind] < 0.8)


def test_a_torn_pulse_is_whole() -> None:
    """Tests that a pulse torn by a dip, and scraps beside it, do not change the count."""
    pulses = [Tone(k * 0.9, k * 0.9 + 0.4, 900.0, 1.0) for k in range(8)]
    torn = [Tone(1.8, 1.95, 900.0, 1.0), Tone(1.99, 2.2, 900.0, 1.0)]
    scraps = [Tone(1.31, 1.36, 900.0, 0.7), Tone(3.3, 3.36, 900.0, 0.1)]
    heard = sorted([*pulses[:2], *torn, *pulses[3:], *scraps], key=lambda tone: tone.start_s)
    assert [(t.start_s, t.end_s) for t in mended(heard)] == [(t.start_s, t.end_s) for t in pulses]
    tune = [Tone(k * 0.3, k * 0.3 + long, 900.0, 1.0) for k, long in enumerate((0.1, 0.25, 0.05))]
    assert mended(tune) == tune


def test_a_faint_train_is_heard_at_a_second_look() -> None:
    """Tests even pulses that stand out in a longer window only."""
    clean = beeps([0.5, 1.3, 2.1, 2.9, 3.7], [700.0] * 5, 0.5, 4.5).samples
    noise = np.random.default_rng(3).normal(0, 0.3, clean.size)
    faint = Track((0.25 * clean + noise).astype(np.float32))
    first = scene(faint)
    assert likelihoods(first, kind_of(first.tones))["none"] > 0.5
    told = read_sound(faint)
    assert told.pulses is not None
    assert (told.kind, told.pulses.count) == ("pulses", 5)


def test_notes_without_company_are_no_tune() -> None:
    """Tests that notes scattered over seconds are doubted, the same ones close together not."""
    close = tuple(Tone(0.3 * k, 0.3 * k + 0.2, 500.0 + 90.0 * k, 1.0) for k in range(4))
    far = tuple(Tone(9.0 * t.start_s, 9.0 * t.start_s + 0.2, t.pitch_hz, 1.0) for t in close)
    assert likelihoods(Scene(close, 1.0, 1.0), "notes")["notes"] > 0.9
    assert likelihoods(Scene(far, 1.0, 1.0), "notes")["none"] > 0.9


def test_an_even_train_is_believed_beside_other_sounds() -> None:
    """Tests that four even pulses outweigh a voice beside them, and uneven ones do not."""
    even = tuple(Tone(t, t + 0.2, 2000.0, 1.0) for t in (0.0, 0.5, 1.0, 1.5))
    uneven = tuple(Tone(t, t + 0.2, 2000.0, 1.0) for t in (0.0, 0.4, 1.0, 1.5))
    assert likelihoods(Scene(even, 0.4, 1.0), "pulses")["pulses"] > 0.9
    assert likelihoods(Scene(uneven, 0.4, 1.0), "pulses")["none"] > 0.9


def test_strokes_of_a_drum_are_no_pulses() -> None:
    """Tests that a whine which comes and goes for longer than a second is no message."""
    strokes = tuple(Tone(3.8 * k, 3.8 * k + 1.6, 560.0, 1.0) for k in range(4))
    short = tuple(Tone(3.8 * k, 3.8 * k + 0.8, 560.0, 1.0) for k in range(4))
    assert likelihoods(Scene(strokes, 1.0, 1.0), "pulses")["none"] > 0.9
    assert likelihoods(Scene(short, 1.0, 1.0), "pulses")["pulses"] > 0.9
