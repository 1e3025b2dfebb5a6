"""Sound tracks of files: codecs, lengths, and what is refused."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest

import made_sounds
from tubside.errors import RecordingError
from tubside.recordings.sound.track import RATE_HZ, read_track

T = np.arange(int(1.5 * made_sounds.FS)) / made_sounds.FS
TONE = 0.5 * np.sin(2 * np.pi * 1000 * T)


@pytest.mark.parametrize("ending", list(made_sounds.CODECS))
def test_every_kind_of_file_is_read(ending: str, tmp_path: Path) -> None:
    """Tests that a tone comes through each codec with its length, pitch and strength."""
    track = read_track(made_sounds.write(tmp_path / f"tone.{ending}", TONE))
    assert track.rate_hz == RATE_HZ
    assert track.length_s == pytest.approx(1.5, abs=0.06)
    spectrum = np.abs(np.fft.rfft(track.samples[:RATE_HZ]))
    assert int(spectrum.argmax()) == 1000
    assert float(track.samples.std()) == pytest.approx(0.5 / 2**0.5, rel=0.1)


def test_a_long_recording_is_cut(tmp_path: Path) -> None:
    """Tests that no more is kept than asked for, and that it is said."""
    track = read_track(made_sounds.write(tmp_path / "tone.wav", TONE), longest_s=1.0)
    assert (len(track.samples), track.cut) == (RATE_HZ, True)


def test_two_channels_are_mixed(tmp_path: Path) -> None:
    """Tests that a tone in one of two channels comes through."""
    path = tmp_path / "two.wav"
    both = np.stack([TONE, np.zeros_like(TONE)], 1)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(made_sounds.FS)
        out.writeframes((both * 32767).astype("<i2").tobytes())
    assert 0.1 < float(read_track(path).samples.std()) < 0.36


@pytest.mark.parametrize(
    ("samples", "words"), [(np.zeros(40_000), "empty"), (TONE[:2000], "fifth of a second")]
)
def test_nothing_to_hear_is_told(samples: made_sounds.Wave, words: str, tmp_path: Path) -> None:
    """Tests that silence and a snippet are refused with what to do."""
    with pytest.raises(RecordingError, match=words):
        read_track(made_sounds.write(tmp_path / "tone.wav", samples))


def test_a_file_of_words_is_refused(tmp_path: Path) -> None:
    """Tests that a text is no recording, and what is."""
    path = tmp_path / "list.wav"
    path.write_text("not a sound")
    with pytest.raises(RecordingError, match="MP3, OGG or WAV"):
        read_track(path)
