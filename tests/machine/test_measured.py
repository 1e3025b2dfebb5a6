"""Readings of a pack that nothing can predict are told by name."""

from __future__ import annotations

import pytest

from tubside.machine.measured import unfit_readings
from tubside.pack.home import pack_folder
from tubside.pack.reading import PackSource, read_pack


@pytest.mark.parametrize("family", ["top_load", "front_load"])
def test_the_packs_measure_what_there_is(family: str) -> None:
    """Tests that every quantity of a pack has a formula, and a unit that fits."""
    assert list(unfit_readings(read_pack(pack_folder(family)))) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("quantity: drain_flow", "quantity: drain_flwo", "did you mean 'drain_flow'"),
        ("unit: kΩ", "unit: L/min", "in L/min"),
    ],
)
def test_what_cannot_be_measured_is_told(
    tmp_path_factory: pytest.TempPathFactory, old: str, new: str, told: str
) -> None:
    """Tests an unknown quantity and a unit of another kind."""
    folder = tmp_path_factory.mktemp("pack")
    for file in pack_folder("front_load").glob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        if file.name == "readings.yaml":
            text = text.replace(old, new, 1)
        (folder / file.name).write_text(text, encoding="utf-8")
    source: PackSource = read_pack(folder)
    problems = list(unfit_readings(source))
    assert len(problems) == 1
    assert problems[0].file.endswith("readings.yaml")
    assert told in f"{problems[0].what} {problems[0].mend}"
