"""The words of a pack's fields are those of the page on writing a pack, and of the schema."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest

from tubside.pack import schema
from tubside.pack.field_words import FIELD_WORDS

PAGE = (Path(__file__).parents[2] / "docs" / "pack.md").read_text(encoding="utf-8")
HEADINGS = {
    "causes": "Cause",
    "findings": "Finding",
    "checks": "Check",
    "remedies": "Remedy",
    "conditions": "Condition",
    "parts": "Part kind",
    "stops": "Stop",
    "cautions": "Caution",
    "covers": "Cover",
}
KINDS = {"parts": schema.PartKind} | {
    name: getattr(schema, heading) for name, heading in HEADINGS.items() if name != "parts"
}


@pytest.mark.parametrize("section", FIELD_WORDS)
def test_the_page_says_the_same(section: str) -> None:
    """Tests that page and program explain each field alike, and none is left out."""
    text = re.split(rf"^### {HEADINGS[section]}$", PAGE, flags=re.MULTILINE)[1]
    rows = re.findall(r"^\| `(\w+)` \| (.+) \|$", text.split("\n### ")[0], flags=re.MULTILINE)
    assert FIELD_WORDS[section] == {name: words.replace("`", "") for name, words in rows}
    fields = [field.encode_name for field in msgspec.structs.fields(KINDS[section])]
    assert sorted(FIELD_WORDS[section]) == sorted(fields)


@pytest.mark.parametrize("section", FIELD_WORDS)
def test_what_may_be_left_out_is_said(section: str) -> None:
    """Tests that every field without "optional" in front is required, but for alternatives."""
    for field in msgspec.structs.fields(KINDS[section]):
        words = FIELD_WORDS[section][field.encode_name]
        assert not (field.required and words.startswith("optional")), field.encode_name
