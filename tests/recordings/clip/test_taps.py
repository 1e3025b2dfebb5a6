"""Taps are read strictly, and every mistake says how to mend it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import RecordingError
from tubside.recordings.clip.taps import read_taps


def written(folder: Path, text: str) -> Path:
    """Return a file of taps with this text."""
    path = folder / "taps.json"
    path.write_text(text, encoding="utf-8")
    return path


def test_taps_are_read(tmp_path: Path) -> None:
    """Tests that whole and broken numbers are taken, in the order given."""
    found = read_taps(written(tmp_path, '{"b": [10, 20.5], "a": [0, 7]}'))
    assert list(found.items()) == [("b", (10.0, 20.5)), ("a", (0.0, 7.0))]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "taps.json:1: is not JSON"),
        ("[]", "holds no lamps"),
        ("{}", "holds no lamps"),
        ('{"a": [1]}', "'a': its place is not two numbers"),
        ('{"a": ["1", 2]}', "without quotes"),
        ('{"a": [true, 2]}', "without quotes"),
        ('{"a": [NaN, 2]}', "not finite"),
        ('{"a": [1, 2], "a": [3, 4]}', "'a' is there twice"),
        ("[" * 60_000, "nested too deep"),
        (" " * 70_000, "too large"),
    ],
)
def test_mistakes_are_told(tmp_path: Path, text: str, told: str) -> None:
    """Tests that each mistake is refused with the file's name and what is wrong."""
    with pytest.raises(RecordingError, match=r"taps\.json") as wrong:
        read_taps(written(tmp_path, text))
    assert told in str(wrong.value)


def test_all_wrong_lamps_are_told_at_once(tmp_path: Path) -> None:
    """Tests that two wrong lamps give two lines."""
    with pytest.raises(RecordingError) as wrong:
        read_taps(written(tmp_path, '{"a": 1, "b": [1, 2], "c": null}'))
    assert len(str(wrong.value).splitlines()) == 2


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """Tests that a file that is not there is named."""
    with pytest.raises(RecordingError, match="check the name"):
        read_taps(tmp_path / "none.json")
