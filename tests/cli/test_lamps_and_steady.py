"""``tubside read lamps`` and ``tubside steady`` on the small clip."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from small_clips import OnDisk, on_disk
from tubside.cli import main


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> OnDisk:
    """Return the small clip with its taps in a file beside it."""
    found = on_disk(tmp_path_factory.mktemp("clip"))
    found.path.with_name("taps.json").write_text(json.dumps(found.truth.taps), encoding="utf-8")
    return found


def test_lamps_as_json_and_as_a_table(clip: OnDisk) -> None:
    """Tests that the JSON holds lamps and advice, and the table each lamp and its state."""
    order = ["read", "lamps", str(clip.path), "--taps", str(clip.path.with_name("taps.json"))]
    told = json.loads(CliRunner().invoke(main, [*order, "--json"], catch_exceptions=False).output)
    assert list(told) == ["lamps", "advice"]
    assert told["lamps"]["L1"]["state"] == "steady"
    shown = CliRunner().invoke(main, order, catch_exceptions=False).output
    assert all(name in shown for name in ("L0", "L3", "steady", "flashing", "every 0.80 s"))


def test_a_clip_is_redrawn(clip: OnDisk, tmp_path: Path) -> None:
    """Tests that the clip is written and the lamps are told."""
    out = tmp_path / "steady.mp4"
    taps = str(clip.path.with_name("taps.json"))
    order = ["steady", str(clip.path), "--taps", taps, "--out", str(out), "--mark"]
    done = CliRunner().invoke(main, order, catch_exceptions=False)
    assert done.exit_code == 0
    assert out.stat().st_size > 10_000
    assert "Written to" in done.output


def test_mistakes_are_told(clip: OnDisk, tmp_path: Path) -> None:
    """Tests that missing taps, wrong taps and a missing clip end in words and code 2."""
    no_taps = CliRunner().invoke(main, ["read", "lamps", str(clip.path)])
    assert (no_taps.exit_code, "--taps" in no_taps.output) == (2, True)
    taps = tmp_path / "taps.json"
    taps.write_text('{"a": [1]}', encoding="utf-8")
    wrong = CliRunner().invoke(main, ["read", "lamps", str(clip.path), "--taps", str(taps)])
    assert (wrong.exit_code, "taps.json" in wrong.output) == (2, True)
    taps.write_text('{"a": [1, 2]}', encoding="utf-8")
    order = ["read", "lamps", str(tmp_path / "none.mp4"), "--taps", str(taps)]
    missing = CliRunner().invoke(main, order)
    assert (missing.exit_code, "none.mp4" in missing.output) == (2, True)
