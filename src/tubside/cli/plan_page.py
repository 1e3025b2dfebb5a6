"""The plan under the next step: its cost, how it may go, what is proven, and its branches."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text
from rich.tree import Tree

from tubside.cli.look import BOLD, QUIET, Flow, Marks, capital, heading
from tubside.service.planning import ToldBranch, ToldPlan, cost_words, visit_words
from tubside.service.wording import dollars, percent


def plan_lines(marks: Marks, plan: ToldPlan) -> Iterator[RenderableType]:
    """What the plan costs, how it may end, what no plan can beat, and what would change it."""
    yield Text("")
    yield heading("The plan")
    for words in (*cost_words(plan), plan.proven, plan.runner_up, plan.holds):
        if words:
            yield Padding(Flow(marks.words(words)), (0, 0, 0, 2))
    if plan.parts:
        yield Text("")
        yield heading("For this visit" if plan.on_site else "For the visit")
        for words in visit_words(plan):
            yield Padding(Flow(marks.words(f"{marks.bullet} {words}")), (0, 0, 0, 2))


def plan_tree(marks: Marks, plan: ToldPlan) -> Iterator[RenderableType]:
    """The plan branch by branch; what is seldom met is left out."""
    yield Text("")
    yield heading("The plan, branch by branch")
    yield Flow("Chances are of coming there from now; what is seldom met is left out.", QUIET)
    tree = Tree(_step(marks, plan.tree), guide_style=QUIET)
    _grow(marks, tree, plan.tree)
    yield Padding(tree, (0, 0, 0, 2))


def _grow(marks: Marks, tree: Tree, branch: ToldBranch) -> None:
    for one in branch.branches:
        _grow(marks, tree.add(_step(marks, one)), one)


def _step(marks: Marks, branch: ToldBranch) -> Text:
    after = f"{branch.after}: " if branch.after else ""
    do = capital(branch.do) if branch.do else "and so on"
    cost = f", {dollars(branch.cost)}" if branch.do else ""
    chance = f" ({percent(branch.chance)})" if after else ""
    words = f"{do}{cost}{chance}"
    return Text.assemble((marks.words(after), QUIET), (marks.words(words), BOLD if after else ""))
