"""Tests of the page that lists parameters and limits."""

from __future__ import annotations

import re

import parameter_page
from tubside.pack.parameters import CONTROLLER, PARAMETERS, Limit


def test_the_page_is_that_of_today() -> None:
    """Tests that docs/parameters.md is what the program knows (else ``make commands``)."""
    assert parameter_page.PAGE.read_text(encoding="utf-8") == parameter_page.page()


def test_every_name_has_one_row() -> None:
    """Tests that each parameter and each limit is listed once."""
    listed = re.findall(r"^\| `(\w+)` \|", parameter_page.page(), re.MULTILINE)
    assert sorted(listed) == sorted([*PARAMETERS, *CONTROLLER])


def test_a_row_tells_unit_and_limits() -> None:
    """Tests a row, its unit written so that the page takes no sign of it for emphasis."""
    (row,) = parameter_page.rows({"swing": Limit("kg*m**2", "how far it swings", 0.5, 1200.0)})
    assert row == "| `swing` | how far it swings | `kg*m**2` | 0.5 | 1200 |"
