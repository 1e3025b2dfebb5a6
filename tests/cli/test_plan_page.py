"""The plan as the terminal prints it: after the step, in words, and as a tree when asked."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from rich.console import Console

from tubside.cli import main
from tubside.cli.advice_page import print_advice
from tubside.pack.compiling import compile_pack
from tubside.pack.reading import PackSource
from tubside.service.advise import Advice, advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge
from tubside.service.planning import ToldPlan, plan_of

CALL = "family: small\nreported: [wont_drain]\n"


@pytest.fixture(scope="module")
def advice(small_pack: PackSource) -> Advice:
    """Return the advice on a call."""
    small = Knowledge(small_pack.pack, compile_pack(small_pack.pack, "small"), None)
    return advise(parse_job(CALL), small, 200)


@pytest.fixture(scope="module")
def plan(advice: Advice) -> ToldPlan:
    """Return its plan."""
    told = plan_of(advice, 60)
    assert told is not None
    return told


def printed(
    advice: Advice, plan: ToldPlan | None, encoding: str = "utf-8", *, tree: bool = False
) -> str:
    """Return what a terminal of a given encoding shows, its lines joined."""
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding=encoding)
    console = Console(file=file, width=80, force_terminal=False)
    print_advice(advice, console, plan=plan, tree=tree)
    file.flush()
    return " ".join(raw.getvalue().decode(encoding).split())


def test_the_plan_stands_after_the_step(advice: Advice, plan: ToldPlan) -> None:
    """Tests the order, the cost of the whole job in both places, and nothing without a plan."""
    page = printed(advice, plan)
    assert page.index("Next step") < page.index("The plan") < page.index("Sets of causes")
    assert "From here to the end: about" in page
    assert "Chance to finish on the first visit" in page
    assert "The plan" not in printed(advice, None)


def test_nothing_unproven_is_claimed(advice: Advice, plan: ToldPlan) -> None:
    """Tests that "no plan" is said exactly where the bound is worth saying."""
    assert ("By this pack's numbers no plan" in printed(advice, plan)) is (plan.gap is not None)


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1", "ascii"])
def test_the_tree_is_for_every_terminal(advice: Advice, plan: ToldPlan, encoding: str) -> None:
    """Tests that the branches stand there when asked for, in any encoding."""
    assert "branch by branch" not in printed(advice, plan, encoding)
    page = printed(advice, plan, encoding, tree=True)
    assert "branch by branch" in page
    assert plan.tree.do[1:6] in page.partition("branch by branch")[2]


def test_effort_and_data_on_the_command_line(tmp_path: Path) -> None:
    """Tests that no effort tells no plan, and that little tells one with all its keys."""
    job = tmp_path / "job.yaml"
    job.write_text("family: top_load\nreported: [wont_drain]\nwhere: site\n", encoding="utf-8")
    for effort, there in (("0", False), ("1", True)):
        done = CliRunner().invoke(main, ["next", str(job), "--json", "--effort", effort])
        assert done.exit_code == 0, done.output
        plan = json.loads(done.output)["plan"]
        assert (plan is not None) is there
    assert set(plan) == set(ToldPlan.__dataclass_fields__)
