"""Whatever a person may write, the checker answers with problems and never fails."""

from __future__ import annotations

import copy
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from small_machine import machine_yaml
from tubside.errors import PackError
from tubside.pack.check import check_pack
from tubside.pack.machine_compiling import compile_machine
from tubside.pack.reading import PackSource, read_pack
from tubside.pack.schema import Pack
from tubside.strict_yaml import Document, Tree, convert, read_text

SMALL = read_pack(Path(__file__).parent / "small_pack")
TEXTS = ["", "0", "1", "-1", "0.5", "1e300", "yes", "tap-closed", "wont_drain", "drive", "no such"]
AMOUNTS = ["", "0", "-1", "1e300", "4 K", "14 C", "350 kPa", "5 %", "2 m", "x kg", "cold_pressure"]


def with_machine() -> Document:
    """Return the small pack with a machine that one of its causes moves."""
    machine = read_text(machine_yaml(), "machine.yaml").tree
    tree = copy.deepcopy(SMALL.document.tree)
    assert isinstance(tree, dict)
    assert isinstance(machine, dict)
    tap_closed(tree)["moves"] = {
        "cold_tap_open": {"times": "0.05", "spread": "0.8"},
        "level_offset": {"plus": "-2 cm", "spread": "5 mm", "share": "0.5"},
        "cold_temperature": {"to": "4 C"},
    }
    return Document({**tree, **machine}, SMALL.document.places)


def tap_closed(tree: dict[str, Tree]) -> dict[str, Tree]:
    """Return the record of that cause."""
    causes = tree["causes"]
    assert isinstance(causes, dict)
    record = causes["tap-closed"]
    assert isinstance(record, dict)
    return record


MACHINE = with_machine()


def branches(tree: Tree) -> list[dict[str, Tree] | list[Tree]]:
    """Return every mapping and list of a tree."""
    if isinstance(tree, str):
        return []
    below = list(tree.values()) if isinstance(tree, dict) else tree
    return [tree, *(branch for each in below for branch in branches(each))]


def damage(tree: Tree, data: st.DataObject, texts: list[str]) -> None:
    """Remove, overwrite or add one entry somewhere in the tree."""
    branch = data.draw(st.sampled_from([each for each in branches(tree) if each]))
    text = data.draw(st.sampled_from(texts))
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
        damage(tree, data, TEXTS)
    told(Document(tree, SMALL.document.places))


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_no_machine_crashes_the_checker(data: st.DataObject) -> None:
    """Tests that damaged values, limits and moves are told, or compiled within their limits."""
    tree = copy.deepcopy(MACHINE.tree)
    assert isinstance(tree, dict)
    section = data.draw(st.sampled_from(["machine", "controller", "moves"]))
    damage(tree[section] if section != "moves" else tap_closed(tree)["moves"], data, AMOUNTS)
    pack = told(Document(tree, SMALL.document.places))
    if pack is not None:
        machine = compile_machine(pack)
        assert machine is None or np.all((machine.low <= machine.middle) & (machine.spread >= 0))


def told(document: Document) -> Pack | None:
    """Check a document; return its pack where no error is told, and see what each problem says."""
    try:
        pack = convert(document, Pack, PackError)
    except PackError as wrong:
        problems, sound = wrong.problems, None
    else:
        report = check_pack(PackSource(pack, document, ""))
        problems = report.errors + report.warnings
        sound = None if report.errors else pack
    assert all(problem.what and problem.mend and problem.line >= 1 for problem in problems)
    return sound
