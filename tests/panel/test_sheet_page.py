"""The page of the sheet describes every value and field that there is."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec

from tubside.panel.schema import Fit, SheetValue
from tubside.panel.sheet_names import SHEET

PAGE = Path(__file__).parents[2] / "docs" / "model-sheet.md"


def test_every_value_has_its_row() -> None:
    """Tests that each name stands in the tables once, with its title and example."""
    rows = re.findall(r"^\| `(\w+)` \| (.+?) \| (.+?) \|", PAGE.read_text("utf-8"), re.MULTILINE)
    assert rows == [(name, of.title, of.example) for name, of in SHEET.items()]


def test_every_field_is_described() -> None:
    """Tests that the page names each field of a value and of a fit."""
    text = PAGE.read_text("utf-8")
    for record in (SheetValue, Fit):
        for field in msgspec.structs.fields(record):
            assert f"`{field.encode_name}`" in text
