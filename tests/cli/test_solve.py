"""Tests of ``tubside solve``."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.console import Console

from tubside.cli import main
from tubside.cli.solve_page import print_answer
from tubside.diagnosis.solve.problem_file import read_problem
from tubside.service.solving import CHOICES, solve_problem

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "problems" / "drain.json"


def run(*words: str) -> Result:
    """Call the command."""
    return CliRunner().invoke(main, ["solve", *words])


def test_the_page_says_what_matters() -> None:
    """Tests that the next step, what is proven and the plan stand on the page in this order."""
    told = run(str(EXAMPLE))
    assert told.exit_code == 0, told.output
    places = [told.output.index(part) for part in ("Next step", "What is proven", "The plan")]
    assert places == sorted(places)
    assert "Proven: no plan is cheaper." in told.output
    assert "WON'T DRAIN" in told.output


@pytest.mark.parametrize("policy", CHOICES)
def test_every_policy_answers_in_json(policy: str) -> None:
    """Tests that each policy of the documentation gives the documented keys."""
    told = run(str(EXAMPLE), "--policy", policy, "--json", "--seed", "3")
    assert told.exit_code == 0, told.output
    data = json.loads(told.output)
    assert list(data) == [
        "expected_cost", "lower_bound", "upper_bound", "gap", "exact", "first_step", "plan",
        "seconds",
    ]  # fmt: skip
    assert data["lower_bound"] <= data["expected_cost"] * (1 + 1e-9)


def test_the_plan_is_drawn(tmp_path: Path) -> None:
    """Tests that ``--plot`` writes the drawing beside the page."""
    told = run(str(EXAMPLE), "--plot", str(tmp_path / "plan.svg"))
    assert told.exit_code == 0
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["none.json"], "cannot be read"),
        ([str(EXAMPLE), "--policy", "best"], "'best' is not one of"),
        ([str(EXAMPLE), "--seconds", "0"], "not in the range"),
        ([str(EXAMPLE), "--seconds", "nan"], "give a number of seconds"),
        ([str(EXAMPLE), "--seed", "-1"], "not in the range"),
        ([str(EXAMPLE), "--plot", "/nowhere/plan.svg"], "cannot be written"),
    ],
)
def test_mistakes_are_told_without_a_traceback(words: list[str], says: str) -> None:
    """Tests that what cannot be done is told in words, with exit code 2."""
    told = run(*words)
    assert told.exit_code == 2
    assert says in told.output
    assert "Traceback" not in told.output


def test_a_wrong_file_is_told_with_its_lines(tmp_path: Path) -> None:
    """Tests that every mistake of a problem is printed with its line."""
    wrong = tmp_path / "wrong.json"
    wrong.write_text('{"causes": {"a": 0.5},\n "stops": {"refer": {"cost": -1}}}')
    told = run(str(wrong))
    assert told.exit_code == 2
    assert "wrong.json:2: 'stops.refer.cost' cannot be '-1.0'" in told.output


def test_a_poor_terminal_gets_plain_letters() -> None:
    """Tests that the page needs no more than ASCII where that is all there is."""
    file = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    console = Console(file=file, width=60, color_system=None, highlight=False, _environ={})
    print_answer(solve_problem(read_problem(EXAMPLE)), EXAMPLE.name, console)
    file.flush()
    assert "Next step" in file.buffer.getvalue().decode("ascii")
