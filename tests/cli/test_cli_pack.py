"""``tubside pack`` prints what is wrong with a pack, and the schema for editors."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result

from tubside.cli import main


def run(*args: str | Path) -> Result:
    """Run the command."""
    return CliRunner().invoke(main, [str(arg) for arg in args])


def test_a_clean_pack_prints_its_shares(small_pack_folder: Path) -> None:
    """Tests that a clean pack exits with 0 and prints the shares that the prior gives back."""
    got = run("pack", "check", small_pack_folder)
    assert got.exit_code == 0
    assert "error" not in got.output
    assert "   180.00 ->  180.00  pump-object" in got.output
    assert "    80.00 ->   80.00  two causes or more" in got.output
    assert "0 above 0.03" in got.output


def test_errors_come_before_warnings(small_pack_copy: Path) -> None:
    """Tests that each line names file and line, errors first, and the exit code is 1."""
    path = small_pack_copy / "water.yaml"
    text = path.read_text(encoding="utf-8").replace("weight: 120", "weight: 140")
    path.write_text(
        text.replace("cautions: [plug-out]\n    parts", "cautions: []\n    parts"), "utf-8"
    )
    got = run("pack", "check", small_pack_copy)
    assert got.exit_code == 1
    lines = got.stdout.splitlines()
    assert lines[0].startswith(f"{small_pack_copy}")
    assert ":2: error: the weights" in lines[0]
    assert lines[1] == "1 error"
    assert "warning: 'replace-inlet-valve' shows no caution first" in lines[3]
    assert lines[4] == "1 warning"
    assert "reproduced" not in got.stdout


def test_a_pack_that_cannot_be_read_is_told_whole(small_pack_copy: Path) -> None:
    """Tests that all reading errors are printed and the exit code is 1."""
    for name in ("water", "drain"):
        path = small_pack_copy / f"{name}.yaml"
        text = path.read_text(encoding="utf-8").replace("kind: user", "kind: usre")
        path.write_text(text, encoding="utf-8")
    got = run("pack", "check", small_pack_copy)
    assert got.exit_code == 1
    assert got.stdout.count("error: ") == 2
    assert "did you mean 'user'?" in got.stdout


def test_a_missing_folder_is_a_usage_mistake(tmp_path: Path) -> None:
    """Tests that a path that is not there exits with 2."""
    assert run("pack", "check", tmp_path / "none").exit_code == 2


def test_the_schema_knows_the_sections(tmp_path: Path) -> None:
    """Tests that the schema is JSON that names the pack's sections, printed or written."""
    printed = run("pack", "schema").stdout
    schema = json.loads(printed)
    assert "causes" in schema["$defs"]["Pack"]["properties"]
    assert run("pack", "schema", "--out", tmp_path / "s.json").stdout == ""
    assert (tmp_path / "s.json").read_text(encoding="utf-8") == printed
