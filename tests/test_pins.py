"""The pinned versions are the same everywhere, and are those in use."""

from __future__ import annotations

import tomllib
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
PINS = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_both_lists_agree() -> None:
    """Tests that uv and pip are held to the same versions (else run ``make pins``)."""
    assert PROJECT["tool"]["uv"]["constraint-dependencies"] == PINS


def test_every_dependency_is_pinned() -> None:
    """Tests that each declared dependency has its line in constraints.txt."""
    pinned = {Requirement(line).name for line in PINS}
    listed = (PROJECT["dependency-groups"], PROJECT["project"]["optional-dependencies"])
    declared = PROJECT["project"]["dependencies"] + [
        entry
        for groups in listed
        for group in groups.values()
        for entry in group
        if isinstance(entry, str)
    ]
    missing = {Requirement(entry).name.lower() for entry in declared} - pinned
    assert not missing, f"not pinned: {sorted(missing)}; run make pins"


def test_pins_are_honoured() -> None:
    """Tests that what is installed beside the tests has the pinned version."""
    wrong = []
    for pin in map(Requirement, PINS):
        if pin.marker is not None and not pin.marker.evaluate():
            continue
        try:
            installed = metadata.version(pin.name)
        except metadata.PackageNotFoundError:
            continue
        if not pin.specifier.contains(installed):
            wrong.append(f"{pin.name} {installed}, pinned {pin.specifier}")
    assert not wrong
