"""How well lamps are read from filmed, encoded clips, end to end. All figures simulated.

``clips.py film FOLDER COUNT [FIRST]`` films fresh clips and keeps what is measured on each
(``measure FOLDER`` does the latter anew); ``clips.py table FOLDER`` reads them and prints the
table; ``clips.py speed FOLDER`` times 320 x 180 and 1080p. A minute of 1080p and of 4K is read by
``tests/recordings/clip/test_whole_minute.py`` (marked as a soak), which tells time and memory.
"""

from __future__ import annotations

import pickle
import sys
import time
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from drawn_clips import drawn_camera, drawn_lamps
from encoded_clips import SUFFIX, second_program, write_clip
from filmed_clips import Filmed, filmed
from tubside.errors import RecordingError
from tubside.recordings.clip.brightness import lamp_series
from tubside.recordings.clip.measuring import walked
from tubside.recordings.clip.placing import placed
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import ReadLamp, read_lamps

Array = NDArray[np.float64]
FIRST_SEED = 910_000
WAYS = ("x264", "x264", "x264", "HEVC", "VP9", "MJPEG", "second x264", "openh264", "forwarded")
CODECS = {"x264": "libx264", "HEVC": "libx265", "VP9": "libvpx-vp9", "MJPEG": "mjpeg"}
SECOND = {
    "second x264": ("-c:v", "libx264", "-crf", "25", "-preset", "fast"),
    "openh264": ("-c:v", "libopenh264", "-b:v", "500k"),
    "forwarded": ("-c:v", "libx264", "-b:v", "250k", "-preset", "veryfast"),
}
"""Other builds than PyAV's; a forwarded clip is encoded twice, the second time hard."""
SLOWEST_TRAP, FASTEST_TRAP = 0.2, 4.5


@dataclass(frozen=True)
class Measured:
    """What is kept of one clip: the truth, what was measured of it, or why it was refused."""

    seed: int
    way: str
    truth: Filmed
    series: LampSeries | None
    refused: str
    seconds: float


def written(clip: Filmed, way: str, path: Path) -> Path:
    """Return the clip as a file, encoded in one of the ways."""
    codec = CODECS.get(way, "libx264")
    once = write_clip(path.with_suffix(SUFFIX[codec]), clip.pictures, clip.times_s, codec)
    if way not in SECOND:
        return once
    again = second_program(once, path.with_suffix(".again.mp4"), *SECOND[way])
    once.unlink()
    return again


def measured(path: Path, truth: Filmed) -> Measured:
    """Return what is measured of a clip on the disk."""
    seed = int(path.name.partition(".")[0])
    start = time.process_time()
    series, refused = None, ""
    try:
        lamps = placed(truth.taps)
        series = lamp_series(walked(path, lamps), lamps)
    except RecordingError as wrong:
        refused = str(wrong)
    seconds = time.process_time() - start
    return Measured(seed, WAYS[seed % len(WAYS)], truth, series, refused, seconds)


def film(folder: Path, count: int, first: int) -> None:
    """Film and measure clips, keeping each as soon as it is done."""
    folder.mkdir(parents=True, exist_ok=True)
    for seed in range(first, first + count):
        kept = folder / f"{seed}.pickle"
        if kept.exists():
            continue
        rng = np.random.default_rng(seed)
        camera = drawn_camera(rng)
        clip = filmed(rng, camera, drawn_lamps(rng, camera))
        path = written(clip, WAYS[seed % len(WAYS)], folder / str(seed))
        kept.write_bytes(pickle.dumps(measured(path, replace(clip, pictures=[]))))


def measure_again(folder: Path) -> None:
    """Measure the clips of a folder anew, after a change of the measuring."""
    for kept in sorted(folder.glob("*.pickle")):
        path = next(path for path in folder.glob(f"{kept.stem}.*") if path != kept)
        kept.write_bytes(pickle.dumps(measured(path, opened(kept).truth)))


def opened(kept: Path) -> Measured:
    """Return what this script itself has kept of a clip."""
    found: Measured = pickle.loads(kept.read_bytes())  # noqa: S301  # own file, just written
    return found


def threshold(row: Array, frames: int = 1) -> str:
    """Return the plain answer: one threshold a frame, after a moving maximum over frames."""
    y = np.nan_to_num(row, nan=0.0)
    wide = np.lib.stride_tricks.sliding_window_view(np.pad(y, (0, frames - 1)), frames).max(1)
    lit = wide > max(0.25, wide.max() / 2)
    changes = int(np.abs(np.diff(lit.astype(int))).sum())
    return "flashing" if changes >= 3 else "steady" if lit.mean() > 0.5 else "off"


def kinds(clip: Measured) -> list[str]:
    """Return the rows of the table that a clip counts in."""
    rows = ["all", "glare" if clip.truth.camera.glare else "no glare"]
    if clip.truth.seen_share >= 1.05:
        rows.append("camera integrates")
    else:
        beat = clip.truth.beat_hz
        slow = "- frozen" if beat <= SLOWEST_TRAP else "- trap"
        rows += ["strobing", "- fast beat" if beat >= FASTEST_TRAP else slow]
    return [*rows, clip.way, *(["dropped frames"] if clip.truth.camera.drops else [])]


Score = dict[str, float]


def score(clip: Measured, k: int, lamp: ReadLamp | None) -> Score:
    """Return what one lamp adds to the counts; a refused clip answers nothing."""
    true = clip.truth.lamps[k]
    state = "unknown" if lamp is None else lamp.state
    lost = true.state != "off" and not clip.truth.caught[k]
    out: Score = {
        "lamps": 1,
        "answered": state != "unknown",
        "right": state == true.state,
        "sure": lamp is not None and max(lamp.probability.values()) > 0.99,
        "unsampled": lost,
        "false off": lost and state == "off",
    }
    if clip.series is not None:
        row = clip.series.brightness[k]
        out["naive"] = threshold(row) == true.state
        wide = max(1, round(0.15 * clip.series.rate_hz))
        out["maximum"] = threshold(row, wide) == true.state
    if lamp is None or state != true.state:
        out["sure and wrong"] = bool(out["sure"]) and state not in {"unknown", true.state}
        return out
    if true.period_s is not None:
        out["periods"] = 1
        given = lamp.period_s or 0.0
        out["within 2 %"] = abs(given / true.period_s - 1) < 0.02
    if true.count is not None:
        out["coded"] = 1
        out["counted"] = bool(lamp.counts)
        out["counts exact"] = set(lamp.counts) == {true.count}
    return out


def pairs_right(clip: Measured, lamps: list[ReadLamp]) -> tuple[int, int]:
    """Return the pairs of evenly flashing lamps read as such, and those grouped rightly."""
    known = [
        (lamp.group, true.spans[0, 0] % true.period_s)
        for lamp, true in zip(lamps, clip.truth.lamps, strict=True)
        if lamp.state == "flashing" and true.period_s is not None
    ]
    both = [(a, b) for k, a in enumerate(known) for b in known[:k]]
    return len(both), sum((a[0] == b[0]) == (abs(a[1] - b[1]) < 1e-6) for a, b in both)


def add(sums: dict[str, Score], clip: Measured) -> None:
    """Read one clip and add it to the rows it counts in."""
    start = time.process_time()
    lamps = [] if clip.series is None else list(read_lamps([clip.series]).lamps.values())
    spent = clip.seconds + time.process_time() - start
    pairs = pairs_right(clip, lamps) if lamps else (0, 0)
    for kind in kinds(clip):
        row = sums[kind]
        row["clips"] += 1
        row["refused"] += clip.series is None
        row["seconds"] += spent
        row["video"] += clip.truth.times_s[-1]
        row["pairs"] += pairs[0]
        row["pairs right"] += pairs[1]
        for k in range(len(clip.truth.lamps)):
            for name, value in score(clip, k, lamps[k] if lamps else None).items():
                row[name] += value


COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("naive", "naive", "lamps"),
    ("maximum", "maximum", "lamps"),
    ("answered", "answered", "lamps"),
    ("right of answered", "right", "answered"),
    ("sure and wrong", "sure and wrong", "lamps"),
    ("period within 2 %", "within 2 %", "periods"),
    ("counts given", "counted", "coded"),
    ("exact of given", "counts exact", "counted"),
    ("groups", "pairs right", "pairs"),
    ("s per s", "seconds", "video"),
)


def print_table(folder: Path) -> None:
    """Print the table of all clips kept in a folder."""
    sums: dict[str, Score] = defaultdict(lambda: defaultdict(float))
    for kept in sorted(folder.glob("*.pickle")):
        add(sums, opened(kept))
    heads = ["simulated clips", "clips (refused)", "lamps", *(name for name, _, _ in COLUMNS)]
    print("| " + " | ".join([*heads, "false off / never sampled"]) + " |")
    print("|" + "---|" * (len(heads) + 1))
    order = [*dict.fromkeys(name for name in ("all", *sums) if name in sums)]
    for kind in order:
        row = sums[kind]
        cells = [kind, f"{row['clips']:.0f} ({row['refused']:.0f})", f"{row['lamps']:.0f}"]
        cells += [f"{row[part] / row[of]:.3f}" if row[of] else "-" for _, part, of in COLUMNS]
        print(
            "| " + " | ".join([*cells, f"{row['false off']:.0f} / {row['unsampled']:.0f}"]) + " |"
        )


def speed(folder: Path) -> None:
    """Print processor seconds per second of clip."""
    folder.mkdir(parents=True, exist_ok=True)
    for wide, length_s in ((320, 8.0), (1920, 4.0)):
        rng = np.random.default_rng(5)
        camera = replace(drawn_camera(rng, wide), fps=30.0, length_s=length_s, drops=0.0, blur=1)
        clip = filmed(rng, camera, drawn_lamps(rng, camera))
        path = write_clip(folder / f"speed-{wide}.mp4", clip.pictures, clip.times_s)
        lamps = placed(clip.taps)
        start = time.process_time()
        read_lamps([lamp_series(walked(path, lamps), lamps)])
        print(f"{wide} wide: {(time.process_time() - start) / length_s:.3f} s per s")


def main() -> None:
    """Film, print the table, or measure speed, as the first argument says."""
    what, folder = sys.argv[1], Path(sys.argv[2])
    if what == "film":
        first = int(sys.argv[4]) if len(sys.argv) > 4 else FIRST_SEED
        film(folder, int(sys.argv[3]), first)
    elif what == "measure":
        measure_again(folder)
    elif what == "table":
        print_table(folder)
    else:
        speed(folder)


if __name__ == "__main__":
    main()
