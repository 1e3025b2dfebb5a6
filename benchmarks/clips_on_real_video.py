"""Lamps read from real video into which simulated ones were put, and real scenes refused.

``clips_on_real_video.py COUNT FIRST VIDEO...`` prints one row for each video: COUNT clips of
eight seconds, from seed FIRST on. The scene, its colours, noise and moving things are real;
lamps, shutter, hand and the second encoding are simulated. Lamps are put where the video keeps
still. Videos that a camera rides through are given to see them refused.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import av
import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from drawn_clips import drawn_camera, drawn_lamps
from encoded_clips import write_clip
from filmed_clips import Camera, FilmedLamp, filmed
from tubside.errors import RecordingError
from tubside.recordings.lamps_in_clip import read_clip

Singles = NDArray[np.float32]
WIDE, MOST_FRAMES = 320, 240
LIGHT = 0.6
"""Scenes are taken this much darker, as a phone exposes for a lit panel."""
APART = 5.0


def scene_of(path: Path) -> tuple[Singles, float]:
    """Return a video's linear light, shape (frames, rows, columns, 3), and its rate."""
    found: list[NDArray[np.uint8]] = []
    with av.open(str(path)) as container:
        rate = float(container.streams.video[0].average_rate or 25)
        for frame in container.decode(video=0):
            high = round(frame.height * WIDE / frame.width / 2) * 2
            rgb = frame.to_ndarray(format="rgb24")
            found.append(np.asarray(cv2.resize(rgb, (WIDE, high), interpolation=cv2.INTER_AREA)))
            if len(found) == MOST_FRAMES:
                break
    light = LIGHT * (np.array(found, np.float32) / 255.0) ** 2.2
    return np.maximum(light, np.float32(0.004)), rate


def shown(frames: Singles, rate: float) -> Callable[[float], Singles]:
    """Return what a scene shows at a time: forwards, then backwards, and again."""
    last = max(1, len(frames) - 1)

    def at(time_s: float) -> Singles:
        place = round(time_s * rate) % (2 * last)
        return np.asarray(frames[min(place, 2 * last - place, len(frames) - 1)])

    return at


def still_places(frames: Singles, lamps: tuple[FilmedLamp, ...]) -> tuple[FilmedLamp, ...]:
    """Return the lamps put where the scene changes least, apart from each other."""
    radius = lamps[0].radius
    restless = frames[::4].max(-1).std(0)
    side = int(4 * radius) | 1
    restless = np.asarray(cv2.boxFilter(restless, -1, (side, side)))
    edge = int(restless.shape[0] * 0.15)
    free = np.full(restless.shape, np.inf)
    free[edge:-edge, edge:-edge] = restless[edge:-edge, edge:-edge]
    rows, columns = np.indices(free.shape)
    put = []
    for lamp in lamps:
        y, x = np.unravel_index(int(free.argmin()), free.shape)
        put.append(replace(lamp, at=(float(x), float(y))))
        free[np.hypot(rows - y, columns - x) < APART * radius] = np.inf
    return tuple(put)


def one_clip(seed: int, frames: Singles, rate: float, folder: Path) -> tuple[int, int, int, int]:
    """Return lamps, answered, right, and whether the clip was refused, of one clip."""
    rng = np.random.default_rng(seed)
    drawn = drawn_camera(rng, WIDE)
    camera: Camera = replace(drawn, height=frames.shape[1], glare=0.0, ripple=0.0, shake=3.0)
    lamps = still_places(frames, drawn_lamps(rng, camera))
    clip = filmed(rng, camera, lamps, shown(frames, rate))
    path = write_clip(folder / f"{seed}.mp4", clip.pictures, clip.times_s)
    try:
        read = read_clip([path], clip.taps)
    except RecordingError as wrong:
        print(f"  {seed}: {wrong}")
        return len(lamps), 0, 0, 1
    states = [lamp.state for lamp in read.lamps.values()]
    known = sum(state != "unknown" for state in states)
    right = sum(state == lamp.state for state, lamp in zip(states, lamps, strict=True))
    return len(lamps), known, right, 0


def main() -> None:
    """Print a row for each video."""
    count, first = int(sys.argv[1]), int(sys.argv[2])
    print(
        "| scene | clips (refused) | lamps | answered | right of answered |\n|---|---|---|---|---|"
    )
    with TemporaryDirectory() as folder:
        for path in map(Path, sys.argv[3:]):
            frames, rate = scene_of(path)
            rows = [one_clip(first + n, frames, rate, Path(folder)) for n in range(count)]
            lamps, known, right, refused = np.sum(rows, axis=0).tolist()
            share = f"{right / known:.3f}" if known else "-"
            print(
                f"| {path.name} | {count} ({refused}) | {lamps} | {known / lamps:.3f} | {share} |"
            )


if __name__ == "__main__":
    main()
