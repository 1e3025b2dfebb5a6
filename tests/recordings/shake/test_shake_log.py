"""Logs as phones write them: separators, commas, units, stamps, and what is refused by line."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.errors import RecordingError
from tubside.recordings.shake.log_file import ShakeLog, parse_log

TIMES = np.arange(200) * 0.01
AXES = np.stack([np.sin(9.0 * TIMES), 0.1 * np.cos(7.0 * TIMES), 9.8 + 0.0 * TIMES], axis=1)


def written(heading: str, separator: str, unit: float = 1.0, scale: float = 1.0) -> bytes:
    """The same motion as a file, its columns z, x, time, y."""
    rows = np.column_stack([AXES[:, 2] * scale, AXES[:, 0] * scale, TIMES / unit, AXES[:, 1]])
    rows[:, 3] *= scale
    return (
        heading + "\n" + "\n".join(separator.join(f"{v:.6f}" for v in r) for r in rows)
    ).encode()


def same(log: ShakeLog) -> bool:
    """Whether a log holds the motion."""
    close = np.allclose(log.axes, AXES, atol=2e-3) and np.allclose(log.times_s, TIMES, atol=1e-5)
    return bool(close) and log.names == ("x", "y", "z")


@pytest.mark.parametrize("separator", [",", ";", "\t", " ", "|"])
@pytest.mark.parametrize(("unit", "word"), [(1.0, "s"), (1e-3, "ms"), (1e-6, "us"), (1e-9, "ns")])
def test_any_separator_and_stamps_of_any_unit(separator: str, unit: float, word: str) -> None:
    """Tests that order of columns, separator and unit of time change nothing."""
    told = parse_log(written(separator.join([f"az({word})", "ax", "time", "ay"]), separator, unit))
    assert same(told)
    assert "time in" in told.units
    assert "(guessed)" in told.units


def test_decimal_commas_and_lines_above() -> None:
    """Tests a file with commas for points below lines that are no heading."""
    content = written("z;x;t;y", ";").replace(b".", b",")
    told = parse_log(b"A log of a phone\r\nmade today\r\n" + content)
    assert same(told)
    assert "decimal commas" in told.notes


@pytest.mark.parametrize(
    ("scale", "name"), [(1.0, "m/s²"), (1 / 9.80665, "g"), (1e3 / 9.80665, "mg")]
)
def test_the_pull_of_the_earth_tells_the_unit(scale: float, name: str) -> None:
    """Tests that m/s², g and mg are told apart, and said."""
    told = parse_log(written("z,x,t,y", ",", scale=scale))
    assert same(told)
    assert f"acceleration in {name} (guessed)" in told.units


def test_repeated_stamps_gaps_and_disorder_are_told() -> None:
    """Tests the notes on a log with each of them, and that times rise afterwards."""
    rows = [[t, *a] for t, a in zip(TIMES, AXES, strict=True)]
    rows = [*rows[:50], rows[49], *rows[90:120], rows[130], rows[125], *rows[131:]]
    text = "t,x,y,z\n" + "\n".join(",".join(f"{v:.5f}" for v in row) for row in rows)
    told = parse_log(text.encode())
    assert (np.diff(told.times_s) > 0).all()
    notes = " ".join(told.notes)
    assert "1 repeated stamps, averaged" in notes
    assert "1 stamps out of order" in notes
    assert "gaps, the longest 0.41 s" in notes


def test_a_coarse_clock_is_spread() -> None:
    """Tests that bursts of equal stamps are laid out evenly again."""
    coarse = np.ceil(TIMES / 0.04 - 1e-9) * 0.04
    text = "t,x,y,z\n" + "\n".join(
        ",".join(f"{v:.5f}" for v in (t, *a)) for t, a in zip(coarse, AXES, strict=True)
    )
    told = parse_log(text.encode())
    assert "spread evenly" in told.notes[0]
    steps = np.diff(told.times_s)
    assert np.quantile(np.abs(steps - 0.01), 0.95) < 1e-4


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "push.csv:1: no rows of numbers"),
        (b"x,y,z\n" + b"1,2,3\n" * 60, "push.csv:2: no column rises like a time"),
        (
            b"t,x,y,z\n" + b"".join(b"%d,1,2,9\n" % n for n in range(20)) + b"20,1\n21,1,2,9\n",
            ":22",
        ),
        (b"t,x\n" + b"".join(b"%d,1\n" % (10 * n) for n in range(12)), "only 12 samples"),
        (b"PK\x03\x04\x00\x00", "no text"),
    ],
)
def test_what_cannot_be_read_is_named_by_line(content: bytes, told: str) -> None:
    """Tests that each refusal says file, line and how to mend it."""
    with pytest.raises(RecordingError, match=told):
        parse_log(content, "push.csv")
