"""Whatever a person may write, the checker answers with problems and never fails."""

from __future__ import annotations

import copy
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import PackError
from tubside.pack.check import check_pack
from tubside.pack.reading import PackSource, read_pack
from tubside.pack.schema import Pack
from tubside.strict_yaml import Document, Tree, convert

SMALL = read_pack(Path(__file__).parent / "small_pack")
TEXTS = ["", "0", "1", "-1", "0.5", "1e300", "yes", "tap-closed", "wont_drain", "drive", "no such"]


def branches(tree: Tree) -> list[dict[str, Tree] | list[Tree]]:
    """Return every mapping and list of a tree."""
    if isinstance(tree, str):
        return []
    below = list(tree.values()) if isinstance(tree, dict) else tree
    return [tree, *(branch for each in below for branch in branches(each))]


def damage(tree: Tree, data: st.DataObject) -> None:
    """Remove, overwrite or add one entry somewhere in the tree."""
    branch = data.draw(st.sampled_from([each for each in branches(tree) if each]))
    text = data.draw(st.sampled_from(TEXTS))
    deed = data.draw(st.sampled_from(["remove", "write", "empty", "add"]))
    new: Tree = text if deed != "empty" else ({} if isinstance(branch, dict) else [])
    if isinstance(branch, list):
        position = data.draw(st.integers(0, len(branch) - 1))
        branch[position : position + (deed != "add")] = [] if deed == "remove" else [new]
        return
    key = data.draw(st.sampled_from(list(branch)))
    old = branch[key]
    if deed == "remove":
        del branch[key]
    elif deed == "add":
        branch[text or "new"] = copy.deepcopy(old)
    else:
        branch[key] = [] if isinstance(old, list) else {} if isinstance(old, dict) else new


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_no_pack_crashes_the_checker(data: st.DataObject) -> None:
    """Tests that a damaged pack is refused with problems, or checked to the end."""
    tree = copy.deepcopy(SMALL.document.tree)
    for _ in range(data.draw(st.integers(1, 4))):
        damage(tree, data)
    document = Document(tree, SMALL.document.places)
    try:
        pack = convert(document, Pack, PackError)
    except PackError as wrong:
        problems = wrong.problems
    else:
        report = check_pack(PackSource(pack, document, ""))
        problems = report.errors + report.warnings
    assert all(problem.what and problem.mend and problem.line >= 1 for problem in problems)
