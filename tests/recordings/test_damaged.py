"""A few damaged files of each kind through the sealed path; the many are in the benchmarks."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import small_recordings

ROOT = Path(__file__).parents[2]
FUZZ = ROOT / "benchmarks" / "fuzz_recordings.py"
FILES = 25
KINDS = ("mp4", "webm", "avi", "wav", "ogg", "mp3", "m4a", "csv")


@pytest.fixture(scope="module")
def seeds(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A good file of each kind."""
    folder = tmp_path_factory.mktemp("good")
    for kind in ("mp4", "webm", "avi"):
        small_recordings.write_clip(folder / f"good.{kind}", seconds=0.3, sound=kind == "mp4")
    for kind in ("wav", "ogg", "mp3", "m4a"):
        small_recordings.write_sound(folder / f"good.{kind}", seconds=0.5)
    small_recordings.write_log(folder / "good.csv", seconds=1.0)
    return folder


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_read_or_refused(seeds: Path, tmp_path: Path, kind: str) -> None:
    """Tests that no damaged file crashes, hangs or ends in anything but plain words."""
    script = [sys.executable, "-I", str(FUZZ), "--batch", kind, "0", str(FILES)]
    ran = subprocess.run(
        [*script, str(tmp_path), str(seeds)], capture_output=True, check=True, text=True
    )
    became = [line.split(" ", 1)[1] for line in ran.stdout.splitlines()]
    assert len(became) == FILES, ran.stderr
    assert set(became) <= {"read", "refused", "memory"}
    assert "read" in became or kind in {"ogg", "csv"}
    assert "refused" in became or kind in {"wav", "mp3", "avi"}


def test_only_one_place_opens_recordings() -> None:
    """Tests that every recording is opened where kind, decoders and addresses are checked."""
    found = []
    for path in (ROOT / "src" / "tubside").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or ast.unparse(node.func) != "av.open":
                continue
            mode = [one.value for one in node.args[1:2] if isinstance(one, ast.Constant)]
            if mode != ["w"] and path.name != "opening.py":
                found.append(f"{path.name}:{node.lineno}")
    assert found == []
