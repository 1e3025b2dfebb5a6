"""Tests of the tables of printed values and of the page that lists them."""

from __future__ import annotations

from pathlib import Path

import pytest

import printed

ROOT = Path(__file__).parents[2]


def test_page_is_up_to_date() -> None:
    """Tests that the page says what the tables say."""
    there = (ROOT / "docs/examples-checked.md").read_text(encoding="utf-8")
    assert there == printed.page(), "run: python tests/plugins/printed.py"


@pytest.mark.parametrize("name", printed.tables())
def test_tables_are_complete(name: str) -> None:
    """Tests that every value has source, page and a known mark, and stands once."""
    found = printed.rows(name)
    assert found
    assert all(row.source and row.page and row.mark in printed.MARKS for row in found)
    assert len({row.item for row in found}) == len(found)
    assert len({row.source for row in found}) == 1


def test_every_table_is_used() -> None:
    """Tests that no table lies there unread."""
    tests = "".join(p.read_text(encoding="utf-8") for p in printed.FOLDER.glob("test_*.py"))
    used = (name for name in printed.tables() if f'"{name}": ' in tests or f'("{name}", ' in tests)
    assert sorted(set(printed.tables()) - set(used)) == []


def test_a_wrong_value_fails() -> None:
    """Tests that the comparison can fail: on a value, on our own, and on a mark that is wrong."""
    row = printed.Row("t", "i", 1.0, 0.1, 1.05, "s", "p", "printed", "")
    printed.check(row, 1.05)
    with pytest.raises(AssertionError):
        printed.check(row, 1.04)
    off = printed.Row("t", "i", 1.0, 0.1, 1.2, "s", "p", "printed", "")
    with pytest.raises(AssertionError):
        printed.check(off, 1.2)
    hidden = printed.Row("t", "i", 1.0, 0.1, 1.05, "s", "p", "does not reproduce", "")
    with pytest.raises(AssertionError):
        printed.check(hidden, 1.05)
