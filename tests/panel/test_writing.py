"""A panel written as its file and read again is the same panel."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings

from made_panels import panels
from tubside import strict_yaml
from tubside.panel.reading import parse_panel
from tubside.panel.schema import Panel
from tubside.panel.writing import REMARKS, panel_text


def read_again(panel: Panel) -> Panel:
    """The panel after one writing and reading, its checks left out."""
    document = strict_yaml.read_text(panel_text(panel), "made.yaml")
    return strict_yaml.convert(document, Panel)


@settings(deadline=None)  # a whole file each time
@given(panels())
def test_read_of_written_is_equal(panel: Panel) -> None:
    """Tests that nothing is lost, changed or put in another order."""
    again = read_again(panel)
    assert again == panel
    assert list(again.indications) == list(panel.indications)
    assert panel_text(again) == panel_text(panel)


def test_every_shipped_panel(panel: Panel) -> None:
    """Tests the panels with every shape, count and sound, checks and all."""
    names = {condition for it in panel.indications.values() for condition in it.conditions}
    again = parse_panel(panel_text(panel), "again.yaml", names)
    assert again == panel
    assert list(again.indications) == list(panel.indications)
    assert list(again.lamps) == list(panel.lamps)


def test_it_is_for_people(small: Panel) -> None:
    """Tests that each part has a comment, and that an entry stands in a line of its own."""
    text = panel_text(small)
    for part in ("plate", "sources", "drawing", "lamps", "sounds", "indications"):
        assert f"# {REMARKS[part]}\n{part}:" in text
    assert "\n  fill:\n" in text
    assert "    lamps: {a: flashing, b: steady}\n" in text
    assert "sure:" not in text.replace("How sure", "")


@pytest.mark.parametrize(
    "name", ["a # b", "x: y", "'", '"', "\\", "\u2028", "\x07", "🫧", "no", "1"]
)
def test_any_name_stays_itself(small: Panel, name: str) -> None:
    """Tests words that mean something in the file's language."""
    named = msgspec.structs.replace(small, name=name)
    assert read_again(named).name == name


def test_the_file_can_be_read_from_a_disk(small: Panel, tmp_path: Path) -> None:
    """Tests that what is written is UTF-8 of plain lines."""
    file = tmp_path / "small-panel.yaml"
    file.write_text(panel_text(small), encoding="utf-8")
    assert all(len(line) < 200 for line in file.read_text(encoding="utf-8").splitlines())
