"""Real sounds that others made: Debian's packages, fetched for the long tests only."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tubside.errors import RecordingError
from tubside.recordings.sound.told import ToldSound, read_sound
from tubside.recordings.sound.track import read_track

pytestmark = pytest.mark.soak

PACKAGES = ("sound-theme-freedesktop", "alsa-utils", "asterisk-core-sounds-en-wav")
EXPECTED = {
    "alarm-clock-elapsed.oga": ("pulses", 12, (2,) * 6),
    "phone-outgoing-busy.oga": ("pulses", 3, (3,)),
    "beep.wav": ("pulses", 1, (1,)),
    "ascending-2tone.wav": ("notes", 0, ()),
    "complete.oga": ("none", 0, ()),
    "at-tone-time-exactly.wav": ("none", 0, ()),
    "Noise.wav": ("none", 0, ()),
    "Front_Center.wav": ("none", 0, ()),
    "Front_Left.wav": ("none", 0, ()),
    "Rear_Right.wav": ("none", 0, ()),
    "Side_Left.wav": ("none", 0, ()),
}


@pytest.fixture(scope="module")
def sounds(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the packages unpacked."""
    folder = tmp_path_factory.mktemp("debian")
    if shutil.which("apt-get") is None or shutil.which("dpkg") is None:
        pytest.skip("no Debian here")
    got = subprocess.run(
        ["apt-get", "download", *PACKAGES], cwd=folder, capture_output=True, check=False
    )
    if got.returncode:
        pytest.skip("Debian's packages cannot be fetched here")
    for package in folder.glob("*.deb"):
        subprocess.run(["dpkg", "-x", str(package), str(folder)], check=True)
    return folder


def told_of(folder: Path, name: str) -> ToldSound:
    """Return what is told of the first file of a name."""
    return read_sound(read_track(min(folder.rglob(name))))


@pytest.mark.parametrize("name", list(EXPECTED))
def test_real_sounds_are_told(name: str, sounds: Path) -> None:
    """Tests kind, count and groups of alarms, calls, a rise of two notes, speech and noise."""
    kind, count, groups = EXPECTED[name]
    told = told_of(sounds, name)
    assert told.kind == kind
    if count:
        assert told.pulses is not None
        assert (told.pulses.count, told.pulses.groups) == (count, groups)


def test_periods_of_real_pulses(sounds: Path) -> None:
    """Tests a quarter of a second and a second, as they were read by eye."""
    for name, period in (("alarm-clock-elapsed.oga", 0.25), ("phone-outgoing-busy.oga", 0.99)):
        pulses = told_of(sounds, name).pulses
        assert pulses is not None
        assert pulses.period_s == pytest.approx(period, abs=0.01)


def test_most_of_many_phrases_are_no_message(sounds: Path) -> None:
    """Tests that of sixty spoken phrases at most one is taken for a message."""
    phrases = sorted((sounds / "usr/share/asterisk/sounds").rglob("*.wav"))
    beeps = {"beep", "beeperr", "ascending-2tone", "descending-2tone", "confbridge-join"}
    spoken = [path for path in phrases if path.stem not in beeps][::9][:60]
    wrong = []
    for path in spoken:
        try:
            told = read_sound(read_track(path))
        except RecordingError:
            continue
        if told.kind != "none":
            wrong.append((path.stem, told.kind))
    assert len(wrong) <= 1, wrong
