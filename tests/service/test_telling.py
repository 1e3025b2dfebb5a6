"""The data that a program gets is exactly what the page of the job file says."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import msgspec
import pytest

from tubside.pack.compiling import compile_pack
from tubside.pack.reading import PackSource
from tubside.service.advise import advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge
from tubside.service.telling import as_data

PAGE = Path(__file__).parents[2] / "docs" / "job-file.md"
JOBS = {
    "call": "family: small\nreported: [wont_drain]\nage_years: 6\n",
    "danger": "family: small\nreported: [tripping]\n",
    "mended": (
        "family: small\nreported: [wont_drain]\nfacts:\n"
        "  - {remedy: clear-pump, outcome: works, by: technician}\n"
    ),
}
PARTS = ("danger", "causes", "steps", "facts")


@pytest.fixture(scope="module")
def data(small_pack: PackSource) -> dict[str, dict[str, object]]:
    """Return job -> its advice as data, as read back from JSON."""
    small = Knowledge(small_pack.pack, compile_pack(small_pack.pack, "small"), None)
    told = {name: as_data(advise(parse_job(job), small, 300)) for name, job in JOBS.items()}
    read: dict[str, dict[str, object]] = msgspec.json.decode(msgspec.json.encode(told))
    return read


def documented(heading: str) -> set[str]:
    """Return the keys that the table under a heading of the page lists."""
    text = PAGE.read_text(encoding="utf-8").partition("## The answer as data")[2]
    below = re.split(r"^#{2,3} (.+)$", text, flags=re.MULTILINE)
    tables = dict(zip(["", *below[1::2]], below[0::2], strict=True))
    return set(re.findall(r"^\| `(\w+)` \|", tables[heading], re.MULTILINE))


def keys(rows: object) -> set[str]:
    """Return the keys of a list of records; all have the same."""
    assert isinstance(rows, Iterable)
    found = {frozenset(row) for row in rows}
    assert len(found) == 1
    return set(next(iter(found)))


def test_the_page_tells_every_key(data: dict[str, dict[str, object]]) -> None:
    """Tests that the keys on top are the documented ones, whatever the job."""
    assert {frozenset(told) for told in data.values()} == {frozenset(documented(""))}


@pytest.mark.parametrize("part", PARTS)
def test_the_page_tells_every_key_of_a_part(data: dict[str, dict[str, object]], part: str) -> None:
    """Tests that the records of each list have the documented keys."""
    filled = [told[part] for told in data.values() if told[part]]
    assert filled
    assert all(keys(rows) == documented(part) for rows in filled)


def test_safety_comes_first(data: dict[str, dict[str, object]]) -> None:
    """Tests that a danger makes the first step a stop, with its caution."""
    steps = msgspec.convert(data["danger"]["steps"], list[dict[str, object]])
    assert steps[0]["kind"] == "stop"
    assert steps[0]["cautions"]


def test_a_finished_job_has_no_step(data: dict[str, dict[str, object]]) -> None:
    """Tests that nothing is to be done after a re-run that passed."""
    assert data["mended"]["steps"] == []
    assert data["call"]["steps"]


def test_chances_are_chances(data: dict[str, dict[str, object]]) -> None:
    """Tests that causes come by rank, each with a chance between 0 and 1."""
    for told in data.values():
        causes = msgspec.convert(told["causes"], list[dict[str, object]])
        chances = [msgspec.convert(cause["probability"], float) for cause in causes]
        assert chances == sorted(chances, reverse=True)
        assert all(0.0 <= chance <= 1.0 for chance in chances)
