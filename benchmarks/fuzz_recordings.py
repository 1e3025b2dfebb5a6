"""Damaged recordings by the ten thousand through the sealed reader's path.

``python benchmarks/fuzz_recordings.py [--files 10000] [KIND ...]``. Every file is made from
a small good one by a seed of its own. They are opened, decoded and copied in batches inside
a child that is sealed as the reader is; a child that crashes or hangs is counted and started
again behind the file that did it.
"""

from __future__ import annotations

import argparse
import collections
import os
import random
import selectors
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path

PLUGINS = Path(__file__).parents[1] / "tests" / "plugins"
KINDS = ("mp4", "webm", "avi", "wav", "ogg", "mp3", "m4a", "csv")
PATIENCE_S = 30.0
"""Without a word for so long a child hangs; what takes a file over 5 s of processor time
is counted as slow, however busy the machine is."""
SLOW_S = 5.0
MOST_FRAMES = 40
COPIED_EVERY = 5
MOST_BYTES = 400_000
EXTREMES = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)


def make_seeds(folder: Path) -> dict[str, list[Path]]:
    """Write the good files that damage is done to."""
    sys.path.insert(0, str(PLUGINS))
    import small_recordings as small  # noqa: PLC0415  # of the tests, only in the parent

    seeds: dict[str, list[Path]] = {}
    for kind in ("mp4", "webm", "avi"):
        seeds[kind] = [
            small.write_clip(folder / f"plain.{kind}", seconds=0.5),
            small.write_clip(folder / f"sound.{kind}", seconds=0.4, sound=kind == "mp4"),
        ]
    for kind in ("wav", "ogg", "mp3", "m4a"):
        seeds[kind] = [small.write_sound(folder / f"sound.{kind}", seconds=0.7)]
    seeds["csv"] = [small.write_log(folder / "log.csv")]
    return seeds


def damaged(good: bytes, other: bytes, dice: random.Random) -> bytes:
    """Return the bytes with one to eight damages, mostly near the head."""
    data = bytearray(good)
    for _ in range(dice.choice((1, 1, 2, 3, 5, 8))):
        dice.choice(DAMAGES)(data, other, dice)
    return bytes(data[:MOST_BYTES])


def checked_pages(data: bytes) -> bytes:
    """Return an Ogg file with the checksum of each page made right again (RFC 3533, 6).

    Without that a reader would drop every damaged page before it decodes anything.
    """
    out, place = bytearray(data), data.find(b"OggS")
    while place >= 0:
        after = data.find(b"OggS", place + 4)
        page = out[place : after if after >= 0 else len(out)]
        if len(page) >= 27:
            page[22:26] = bytes(4)
            value = 0
            for byte in page:
                value = (value << 8 & 0xFFFFFFFF) ^ CHECKS[(value >> 24) ^ byte]
            out[place + 22 : place + 26] = value.to_bytes(4, "little")
        place = after
    return bytes(out)


def _checks() -> list[int]:
    table = []
    for byte in range(256):
        value = byte << 24
        for _ in range(8):
            value = (value << 1 ^ (0x04C11DB7 if value & 0x80000000 else 0)) & 0xFFFFFFFF
        table.append(value)
    return table


CHECKS = _checks()


def _place(data: bytearray, dice: random.Random) -> int:
    """Where to do damage: half of it in the first two kilobytes, where headers stand."""
    near = min(len(data), 2048) if dice.random() < 0.5 else len(data)
    return dice.randrange(max(near, 1))


def _flip(data: bytearray, _other: bytes, dice: random.Random) -> None:
    if data:
        data[_place(data, dice)] ^= 1 << dice.randrange(8)


def _overwrite(data: bytearray, _other: bytes, dice: random.Random) -> None:
    place = _place(data, dice)
    data[place : place + 16] = dice.randbytes(dice.randrange(1, 17))


def _extreme(data: bytearray, _other: bytes, dice: random.Random) -> None:
    place, size = _place(data, dice), dice.choice((1, 2, 4))
    value = dice.choice(EXTREMES) & (256**size - 1)
    data[place : place + size] = value.to_bytes(size, dice.choice(("big", "little")))


def _cut(data: bytearray, _other: bytes, dice: random.Random) -> None:
    del data[dice.randrange(max(len(data), 1)) :]


def _remove(data: bytearray, _other: bytes, dice: random.Random) -> None:
    place = _place(data, dice)
    del data[place : place + dice.choice((1, 4, 64, 1024))]


def _repeat(data: bytearray, _other: bytes, dice: random.Random) -> None:
    place = _place(data, dice)
    data[place:place] = data[place : place + dice.choice((1, 8, 256, 4096))]


def _splice(data: bytearray, other: bytes, dice: random.Random) -> None:
    place = dice.randrange(max(len(other), 1))
    part = other[place : place + dice.choice((8, 64, 1024))]
    at = _place(data, dice)
    data[at : at + len(part)] = part


DAMAGES: tuple[Callable[[bytearray, bytes, random.Random], None], ...] = (
    *(_flip, _flip, _overwrite, _extreme, _extreme, _extreme),
    *(_cut, _remove, _repeat, _splice),
)


def batch(kind: str, first: int, files: int, folder: Path, seeds: Path) -> None:
    """In the child: seal, then read damaged files, telling the end of each in one line."""
    from tubside.recordings.sealing import Limits, seal  # noqa: PLC0415  # the child's own

    good = [path.read_bytes() for path in sorted(seeds.iterdir()) if path.suffix == f".{kind}"]
    every = [path.read_bytes() for path in sorted(seeds.iterdir())]
    seal(Limits(processor_s=36_000), [], folder)
    path = folder / f"sent.{kind}"
    for number in range(first, first + files):
        dice = random.Random(f"{kind}-{number}")  # noqa: S311  # damage, no secret
        sent = damaged(dice.choice(good), dice.choice(every), dice)
        path.write_bytes(checked_pages(sent) if kind == "ogg" and number % 4 else sent)
        began = time.process_time()
        became = read(path, kind, number)
        slow = time.process_time() - began > SLOW_S
        print(number, became + " slow" * slow, flush=True)


def read(path: Path, kind: str, number: int) -> str:
    """What became of one file: read, refused, or what went wrong unforeseen."""
    from tubside.errors import RecordingError  # noqa: PLC0415  # the child's own

    try:
        if kind == "csv":
            from tubside.recordings.shake.answering import answer  # noqa: PLC0415

            answer([path], b'{"name": "sent.csv"}')
        else:
            decode(path, number)
    except RecordingError:
        return "refused"
    except MemoryError:
        return "memory"
    except Exception as wrong:  # noqa: BLE001  # each is counted by its name
        return f"unforeseen:{type(wrong).__name__}"
    return "read"


def decode(path: Path, number: int) -> None:
    """Open, look at and decode a file; copy one in five as the shop keeps it."""
    from tubside.recordings.bare_copy import bare_copy  # noqa: PLC0415  # the child's own
    from tubside.recordings.first_look import first_decoded, first_look  # noqa: PLC0415
    from tubside.recordings.opening import opened  # noqa: PLC0415

    first_look(path, "either")
    with opened(path, "either") as container:
        for frame in islice(first_decoded(container, "either"), MOST_FRAMES):
            _ = [bytes(plane) for plane in frame.planes]
    if number % COPIED_EVERY == 0:
        bare_copy(path, path.parent)


def run(kind: str, files: int, seeds: Path) -> collections.Counter[str]:
    """Read so many damaged files of a kind; what became of them."""
    counts: collections.Counter[str] = collections.Counter()
    done = 0
    while done < files:
        with tempfile.TemporaryDirectory() as folder:
            script = [sys.executable, "-I", __file__, "--batch", kind, str(done)]
            child = subprocess.Popen(  # noqa: S603  # this script
                [*script, str(files - done), folder, str(seeds)],
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
            for number, became in told(child):
                counts[became] += 1
                done = number + 1
            if done < files:
                became = "hung" if child.returncode is None else "crashed"
                counts[became] += 1
                print(f"{kind} {done}: {became}", flush=True)
                done += 1
            child.kill()
            child.wait()
    return counts


def told(child: subprocess.Popen[bytes]) -> Iterator[tuple[int, str]]:
    """The lines of a child, until it ends or says nothing for too long."""
    assert child.stdout is not None
    waiting, patience = b"", PATIENCE_S + 15
    with selectors.DefaultSelector() as selector:
        selector.register(child.stdout, selectors.EVENT_READ)
        while selector.select(patience):
            found = os.read(child.stdout.fileno(), 1 << 16)
            if not found:
                child.wait()
                return
            *lines, waiting = (waiting + found).split(b"\n")
            patience = PATIENCE_S
            for line in lines:
                number, became = line.decode().split(" ", 1)
                yield int(number), became


def main() -> None:
    """Run the kinds asked for, and print a table of what became of their files."""
    if sys.argv[1:2] == ["--batch"]:
        kind, first, files, folder, seeds = sys.argv[2:]
        batch(kind, int(first), int(files), Path(folder), Path(seeds))
        return
    parser = argparse.ArgumentParser()
    parser.add_argument("kinds", nargs="*", default=KINDS)
    parser.add_argument("--files", type=int, default=10_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        make_seeds(Path(folder))
        for kind in asked.kinds:
            began = time.monotonic()
            counts = run(kind, asked.files, Path(folder))
            rows = ", ".join(f"{name} {count}" for name, count in sorted(counts.items()))
            print(f"{kind}: {asked.files} files in {time.monotonic() - began:.0f} s: {rows}")


if __name__ == "__main__":
    main()
