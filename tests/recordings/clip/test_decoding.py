"""Frames of a clip: true times, upright, in the range in which they were stored."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from encoded_clips import SUFFIX, write_clip
from small_clips import OnDisk
from tubside.errors import RecordingError
from tubside.recordings.clip.decoding import Size, frames

TIMES = np.array([0.0, 0.033, 0.101, 0.134, 0.2, 0.267, 0.3])


def quarters() -> NDArray[np.uint8]:
    """Return a picture whose quarters are of four shades, the brightest top left."""
    shades = np.array([[220, 160], [100, 40]], np.uint8)
    return np.repeat(np.kron(shades, np.ones((32, 48), np.uint8))[:, :, None], 3, axis=2)


@pytest.mark.parametrize("codec", sorted(SUFFIX))
def test_times_and_shades_come_back(tmp_path: Path, codec: str) -> None:
    """Tests that dropped frames keep their times, and that luma keeps its range."""
    path = tmp_path / f"clip{SUFFIX[codec]}"
    write_clip(path, [quarters()] * len(TIMES), TIMES, codec)
    found = list(frames(path))
    step = 0.0011 if path.suffix in {".webm", ".mkv"} else 1e-4  # Matroska counts milliseconds
    assert [frame.time_s for _, frame in found] == pytest.approx(TIMES, abs=step)
    grey = found[3][1].grey
    centres = [int(grey[16, 24]), int(grey[16, 72]), int(grey[48, 24]), int(grey[48, 72])]
    assert centres == pytest.approx([220, 160, 100, 40], abs=5)


@pytest.mark.parametrize(
    ("rotation", "corner", "first_row"),
    [(0, (0, 0), "top"), (90, (1, 0), "left"), (180, (1, 1), "bottom"), (270, (0, 1), "right")],
)
def test_rotated_clips_stand_upright(
    tmp_path: Path, rotation: int, corner: tuple[int, int], first_row: str
) -> None:
    """Tests that the turn a phone wrote is made, and that sensor rows turn with it."""
    path = write_clip(tmp_path / "clip.mp4", [quarters()] * 3, TIMES[:3], rotation=rotation)
    size, frame = next(frames(path))
    wide, high = (64, 96) if rotation % 180 else (96, 64)
    assert (size.width, size.height) == (wide, high)
    assert frame.grey.shape == (high, wide)
    rows, columns = high // 4 + corner[0] * high // 2, wide // 4 + corner[1] * wide // 2
    assert frame.grey[rows, columns] == pytest.approx(220, abs=5)
    at = {"top": (5.0, 0.0), "bottom": (5.0, high), "left": (0.0, 5.0), "right": (wide, 5.0)}
    x, y = at[first_row]
    assert size.row_share(np.array([float(x)]), np.array([float(y)]))[0] == pytest.approx(0.0)


def test_large_frames_are_brought_down(tmp_path: Path) -> None:
    """Tests that 1080p is worked on at half its size."""
    picture = np.full((1080, 1920, 3), 90, np.uint8)
    path = write_clip(tmp_path / "clip.mp4", [picture] * 2, TIMES[:2])
    size, frame = next(frames(path))
    assert size == Size(1920, 1080, 0, 0.5)
    assert frame.grey.shape == (540, 960)


def test_a_cut_off_clip_gives_what_is_there_or_says_so(tmp_path: Path, small: OnDisk) -> None:
    """Tests that half a file ends in words, not in a crash."""
    whole = small.path.read_bytes()
    half = tmp_path / "half.mp4"
    half.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(RecordingError, match=r"half\.mp4"):
        list(frames(half))


def test_what_is_no_clip_is_refused(tmp_path: Path) -> None:
    """Tests that a text file and a missing one are told in words."""
    text = tmp_path / "notes.mp4"
    text.write_text("no clip at all\n")
    with pytest.raises(RecordingError, match="no recording that can be read"):
        list(frames(text))
    with pytest.raises(RecordingError, match=r"missing\.mp4"):
        list(frames(tmp_path / "missing.mp4"))
