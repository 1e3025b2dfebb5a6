"""``tubside trial`` from the command line, on very few calls of a shipped pack."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from click.testing import CliRunner

from tubside.cli import main


def run(*options: str) -> str:
    """Return what ``tubside trial`` prints."""
    done = CliRunner().invoke(main, ["trial", "--family", "top_load", *options])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_data_name_every_policy_and_figure(tmp_path: Path) -> None:
    """Tests that ``--json`` has a row for each policy, and that the drawing is written."""
    picture = tmp_path / "trial.svg"
    told = json.loads(run("--world", "pack", "--calls", "2", "--json", "--plot", str(picture)))
    (trial,) = told
    assert trial["family"] == "top_load"
    assert trial["calls"] == 2
    assert [row["policy"] for row in trial["policies"]] == ["advised", "list", "plain list", "P/C"]
    for row in trial["policies"]:
        assert row["cost"]["n"] == 2
        assert row["cost"]["mean"] > 0.0
    root = ET.fromstring(picture.read_text(encoding="utf-8"))  # noqa: S314  # our own
    assert root.tag.endswith("svg")


def test_workers_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that two processes give the result of one, each taking a call."""
    monkeypatch.setattr("tubside.trial.running.CHUNK", 1)
    options = ("--world", "disturbed", "--calls", "2", "--json")
    assert run(*options) == run(*options, "--workers", "2")


def test_the_table_fits_a_terminal() -> None:
    """Tests that the table names every policy and is no wider than 80 columns."""
    said = run("--world", "weights", "--calls", "1")
    for policy in ("advised", "list", "P/C"):
        assert policy in said
    assert max(map(len, said.splitlines())) <= 80
    assert "First visits that end the job" in said
    assert "nan" not in said  # too few calls for an interval


@pytest.mark.parametrize("option", [("--world", "elsewhere"), ("--calls", "0")])
def test_a_wrong_option_is_refused(option: tuple[str, str]) -> None:
    """Tests that a world that does not exist and no calls at all are refused in words."""
    done = CliRunner().invoke(main, ["trial", *option])
    assert done.exit_code == 2
    assert option[0] in done.output


def test_an_unknown_family_is_told() -> None:
    """Tests that a family without a pack is refused with what there is."""
    done = CliRunner().invoke(main, ["trial", "--family", "mangle", "--calls", "1"])
    assert done.exit_code == 2
    assert "mangle" in done.output
