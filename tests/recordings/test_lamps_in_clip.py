"""Lamps from clips, end to end: filmed by brute force, encoded, decoded, read."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from encoded_clips import SUFFIX, second_program, write_clip
from filmed_clips import filmed
from small_clips import CAMERA, PERIOD_S, STATES, on_disk, small_clip, small_lamps
from tubside.errors import RecordingError
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_in_clip import answer, pieces, read_clip
from tubside.recordings.lamps_read import ReadPanel

NAMES = ("L0", "L1", "L2", "L3")


def never_wrong(read: ReadPanel) -> bool:
    """Return whether every lamp is read rightly or left open."""
    pairs = zip(read.lamps.values(), STATES, strict=True)
    return all(lamp.state in {state, "unknown"} for lamp, state in pairs)


def test_lamps_of_a_small_clip(tmp_path: Path) -> None:
    """Tests states and rhythm from a strobing clip of four seconds."""
    clip = on_disk(tmp_path)
    read = read_clip([clip.path], clip.truth.taps)
    assert tuple(read.lamps) == NAMES
    assert never_wrong(read)
    assert [read.lamps[name].state for name in NAMES[1:]] == list(STATES[1:])
    flashing = read.lamps["L2"], read.lamps["L3"]
    assert [lamp.period_s for lamp in flashing] == pytest.approx([PERIOD_S] * 2, rel=0.02)
    assert flashing[0].group != flashing[1].group


def test_the_answer_is_json_as_it_is_told(tmp_path: Path) -> None:
    """Tests the keys of the answer, and that options beyond the known are refused."""
    clip = on_disk(tmp_path)
    told = json.loads(answer([clip.path], json.dumps({"taps": [clip.truth.taps]}).encode()))
    assert set(told) == {"lamps", "advice"}
    keys = {"state", "probability", "period_s", "duty", "group", "counts"}
    assert all(set(lamp) == keys for lamp in told["lamps"].values())
    assert all(
        sum(lamp["probability"].values()) == pytest.approx(1.0, abs=1e-3)
        for lamp in told["lamps"].values()
    )
    with pytest.raises(RecordingError, match="tap them again"):
        answer([clip.path], b'{"taps": [{"a": [1, 2]}], "more": 1}')
    with pytest.raises(RecordingError, match="tap them again"):
        answer([clip.path], b"nothing")


def test_a_second_clip_is_laid_on_the_first(tmp_path: Path) -> None:
    """Tests that taps in one clip serve for another, held elsewhere, at another rate."""
    one = on_disk(tmp_path)
    moved = [np.asarray(np.roll(p, (-6, 9), (0, 1))) for p in small_clip().pictures]
    other = write_clip(tmp_path / "other.mp4", moved, small_clip().times_s)
    read = read_clip([one.path, other], one.truth.taps)
    assert never_wrong(read)
    assert [read.lamps[name].state for name in NAMES[1:]] == list(STATES[1:])
    with pytest.raises(RecordingError, match="give one for each"):
        read_clip([one.path, other, other], [one.truth.taps] * 2)


def test_another_panel_is_not_laid_on_the_first(tmp_path: Path) -> None:
    """Tests that a clip of another panel asks for taps of its own."""
    one = on_disk(tmp_path)
    strange = filmed(np.random.default_rng(99), CAMERA, small_lamps())
    other = write_clip(tmp_path / "other.mp4", strange.pictures[:25], strange.times_s[:25])
    with pytest.raises(RecordingError, match="give taps for each"):
        read_clip([one.path, other], one.truth.taps)


def test_a_long_clip_is_read_in_pieces() -> None:
    """Tests that a minute is cut in three that hold every frame once, and ten seconds not."""
    times = np.arange(1800) / 30
    whole = LampSeries(("a",), times, np.ones((1, 1800)), np.zeros(1), np.zeros((1, 1800)))
    parts = pieces(whole)
    assert len(parts) == 3
    assert np.concatenate([part.times_s for part in parts]) == pytest.approx(times)
    short = LampSeries(("a",), times[:300], np.ones((1, 300)), np.zeros(1))
    assert len(pieces(short)) == 1


def test_a_phone_held_upright(tmp_path: Path) -> None:
    """Tests that a clip stored on its side is read with taps as it is shown."""
    clip = small_clip()
    lying = [np.ascontiguousarray(np.rot90(picture, -1)) for picture in clip.pictures]
    path = write_clip(tmp_path / "side.mp4", lying, clip.times_s, rotation=90)
    read = read_clip([path], clip.taps)
    assert never_wrong(read)
    assert [read.lamps[name].state for name in NAMES[1:]] == list(STATES[1:])


@pytest.mark.soak
def test_ten_bits_are_read(tmp_path: Path) -> None:
    """Tests HEVC with ten bits, as phones film for bright screens."""
    clip = on_disk(tmp_path)
    ten = second_program(
        clip.path, tmp_path / "ten.mp4", "-c:v", "libx265", "-pix_fmt", "yuv420p10le"
    )
    read = read_clip([ten], clip.truth.taps)
    assert [read.lamps[name].state for name in NAMES[1:]] == list(STATES[1:])


@pytest.mark.soak
@pytest.mark.parametrize("codec", sorted(SUFFIX))
def test_every_encoder_gives_the_same_lamps(tmp_path: Path, codec: str) -> None:
    """Tests H.264, HEVC, VP9 and MJPEG."""
    clip = on_disk(tmp_path, codec, SUFFIX[codec])
    assert never_wrong(read := read_clip([clip.path], clip.truth.taps))
    assert read.lamps["L1"].state == "steady"


@pytest.mark.soak
@pytest.mark.parametrize(
    "options",
    [
        ("-c:v", "libopenh264", "-b:v", "600k"),
        ("-c:v", "libx264", "-b:v", "200k", "-vf", "scale=192:108"),
    ],
)
def test_other_builds_and_forwarded_clips(tmp_path: Path, options: tuple[str, ...]) -> None:
    """Tests a second H.264 build, and a clip made smaller by being forwarded."""
    clip = on_disk(tmp_path)
    again = second_program(clip.path, tmp_path / "again.mp4", *options)
    share = 192 / 256 if "-vf" in options else 1.0
    taps = {name: (x * share, y * share) for name, (x, y) in clip.truth.taps.items()}
    assert never_wrong(read_clip([again], taps))
