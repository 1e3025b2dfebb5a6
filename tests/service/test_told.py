"""What a reading is told to have moved."""

from __future__ import annotations

import pytest

from tubside.service.advise import advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of_family
from tubside.service.told import LEAST_MOVED, tell

HEAD = "family: front_load\nreported: [wont_drain]\nwhere: site\nfacts:\n"
FOUND = "  - {check: pump-look, outcome: object, by: technician}\n"


@pytest.mark.parametrize(
    ("lines", "moves"),
    [
        ("  - {check: drain-time, value: 500 s, by: technician}\n", True),
        (FOUND + "  - {check: cold-tap-temperature, value: 14 °C, by: technician}\n", False),
    ],
    ids=["a long drain", "a cold tap as it should be"],
)
def test_only_what_can_be_seen_to_move_is_told(lines: str, moves: bool) -> None:
    """Tests that no cause is listed that reads the same before and after."""
    known = knowledge_of_family("front_load")
    last = tell(advise(parse_job(HEAD + lines), known, 300)).weighed[-1]
    assert bool(last.moved) is moves
    assert all(abs(now - was) >= LEAST_MOVED for _, was, now in last.moved)
