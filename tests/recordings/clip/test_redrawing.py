"""A clip with its lamps redrawn: lamps as the eye saw them, all else as it was."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from encoded_clips import write_clip
from small_clips import PERIOD_S, OnDisk, on_disk
from tubside.errors import RecordingError
from tubside.recordings.clip.brightness import lamp_series
from tubside.recordings.clip.measuring import walked
from tubside.recordings.clip.placing import Placed, placed
from tubside.recordings.clip.redrawing import steady
from tubside.recordings.lamps_read import ReadPanel, read_lamps


def greys(path: Path) -> NDArray[np.uint8]:
    """Return all frames in grey."""
    with av.open(str(path)) as container:
        return np.stack([frame.to_ndarray(format="gray") for frame in container.decode(video=0)])


def sounds(path: Path) -> list[bytes]:
    """Return the packets of sound."""
    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(audio=0) if packet.size]


@dataclass(frozen=True, slots=True)
class Redrawn:
    """The small clip redrawn, what was read of it, and its lamps."""

    path: Path
    told: ReadPanel
    lamps: Placed


@pytest.fixture(scope="module")
def redrawn(tmp_path_factory: pytest.TempPathFactory, small: OnDisk) -> Redrawn:
    """Return the small clip redrawn without marks."""
    out: Path = tmp_path_factory.mktemp("redrawn") / "out.mp4"
    lamps = placed(small.truth.taps)
    return Redrawn(out, steady(small.path, lamps, out), lamps)


def test_lamps_shine_as_the_eye_saw_them(small: OnDisk, redrawn: Redrawn) -> None:
    """Tests, on the output decoded again: steady lamps still, flashes at their rate."""
    before = lamp_series(walked(small.path, redrawn.lamps), redrawn.lamps)
    after = lamp_series(walked(redrawn.path, redrawn.lamps), redrawn.lamps)
    assert after.times_s == pytest.approx(before.times_s, abs=1e-4)
    was, now = before.brightness[1], after.brightness[1]
    assert np.ptp(was) > 0.8 * was.max()
    assert np.ptp(now) < 0.2 * now.max()
    again = read_lamps([after])
    states = {name: lamp.state for name, lamp in redrawn.told.lamps.items() if name != "L0"}
    assert list(states.values()) == ["steady", "flashing", "flashing"]
    assert {name: again.lamps[name].state for name in states} == states
    assert again.lamps["L2"].period_s == pytest.approx(PERIOD_S, rel=0.02)


def test_all_else_stays(small: OnDisk, redrawn: Redrawn) -> None:
    """Tests that sound is the same packets, and the picture away from lamps the same."""
    assert sounds(redrawn.path) == sounds(small.path)
    one, other = greys(small.path), greys(redrawn.path)
    assert one.shape == other.shape
    away = np.abs(one[:, 100:].astype(int) - other[:, 100:].astype(int))
    assert away.mean() < 1.5


def test_marks_are_drawn(tmp_path: Path, small: OnDisk, redrawn: Redrawn) -> None:
    """Tests that rings and labels change the picture around lamps, also round the unlit one."""
    marked = tmp_path / "marked.mp4"
    steady(small.path, redrawn.lamps, marked, marked=True)
    x, y = (round(v) for v in small.truth.taps["L0"])
    part = (slice(0, 5), slice(y - 14, y + 24), slice(x - 14, x + 15))
    changed = greys(redrawn.path)[part].astype(int) - greys(marked)[part].astype(int)
    assert np.abs(changed).max() > 60


@pytest.mark.soak
@pytest.mark.parametrize(
    ("codec", "suffix", "out"),
    [
        ("mjpeg", ".mkv", "out.mp4"),
        ("libvpx-vp9", ".webm", "out.mkv"),
        ("libx265", ".mp4", "a.mov"),
    ],
)
def test_other_encoders_keep_their_shades(
    tmp_path: Path, codec: str, suffix: str, out: str
) -> None:
    """Tests that full and video range come out as bright as they went in, with their times."""
    clip = on_disk(tmp_path, codec, suffix)
    target = tmp_path / out
    steady(clip.path, placed(clip.truth.taps), target)
    assert greys(target)[:, 100:].mean() == pytest.approx(greys(clip.path)[:, 100:].mean(), abs=1)


@pytest.mark.soak
def test_a_clip_on_its_side_comes_out_upright(tmp_path: Path, small: OnDisk) -> None:
    """Tests that the turn is made in the picture, and that lamps are painted where they are."""
    clip = small.truth
    lying = [np.ascontiguousarray(np.rot90(picture, -1)) for picture in clip.pictures]
    path = write_clip(tmp_path / "side.mp4", lying, clip.times_s, rotation=90)
    told = steady(path, placed(clip.taps), tmp_path / "out.mp4")
    with av.open(str(tmp_path / "out.mp4")) as container:
        frame = next(container.decode(video=0))
    assert (frame.width, frame.height, frame.rotation) == (256, 144, 0)
    lamps = placed(clip.taps)
    again = read_lamps([lamp_series(walked(tmp_path / "out.mp4", lamps), lamps)])
    assert [again.lamps[name].state for name in ("L1", "L2")] == ["steady", "flashing"]
    assert told.lamps["L1"].state == "steady"


@pytest.mark.parametrize("name", ["out.gif", "out"])
def test_other_kinds_of_file_are_refused(tmp_path: Path, small: OnDisk, name: str) -> None:
    """Tests that only clips are written, and never over the clip itself."""
    lamps = placed(small.truth.taps)
    with pytest.raises(RecordingError, match="no kind of clip"):
        steady(small.path, lamps, tmp_path / name)
    with pytest.raises(RecordingError, match="the clip itself"):
        steady(small.path, lamps, small.path)
