"""Tests of ``tubside simulate``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tubside.cli import main


def run(*arguments: str) -> Result:
    """The command's result."""
    return CliRunner().invoke(main, ["simulate", *arguments])


def test_a_cycle_is_told_part_by_part() -> None:
    """Tests the lines of a stop, and the exit code."""
    got = run("--model", "Tern", "--cause", "pump-failed")
    assert got.exit_code == 0
    assert got.output.startswith("fill")
    assert "stopped in the drain" in got.output
    assert "the panel shows 'six'" in got.output


def test_a_drawing_is_written(tmp_path: Path) -> None:
    """Tests that --plot writes an SVG beside what is printed."""
    place = tmp_path / "cycle.svg"
    got = run("--model", "wren", "--cause", "heater-open", "--seed", "5", "--plot", str(place))
    assert got.exit_code == 0
    assert place.read_text(encoding="utf-8").startswith("<svg ")


def test_plain_data() -> None:
    """Tests that --json prints one object and nothing else."""
    got = run("--model", "tern", "--json")
    data = json.loads(got.output)
    assert data["stopped_by"] is None
    assert data["model"] == "aldermoor-tern"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--model", "Robin"), "aldermoor-tern"),
        (("--model", "tern", "--cause", "pump-faild"), "pump-failed"),
        (("--model", "tern", "--plot", "no/such/folder/a.svg"), "no/such/folder/a.svg"),
    ],
)
def test_mistakes_are_told_in_words(arguments: tuple[str, ...], said: str) -> None:
    """Tests that a wrong name or place ends with a message and no traceback."""
    got = run(*arguments)
    assert got.exit_code != 0
    assert said in got.output
    assert "Traceback" not in got.output


@pytest.mark.parametrize("command", [["simulate", "--model", "Tern"], ["practise"], ["trial"]])
def test_a_seed_below_zero_is_refused(command: list[str]) -> None:
    """Tests that every command that draws tells what a seed may be."""
    result = CliRunner().invoke(main, [*command, "--seed", "-3"])
    assert result.exit_code == 2
    assert "-3 is not in the range x>=0" in result.output
