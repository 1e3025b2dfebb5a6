"""Tests of reading job files strictly."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import JobFileError
from tubside.service.job_file import parse_job, read_job


def test_whole_file_is_read(tmp_path: Path) -> None:
    """Tests the fields of a file, and that what is absent was not asked."""
    file = tmp_path / "job.yaml"
    file.write_text(
        "family: small\nreported: [wont_drain]\nage_years: 6\njust_moved: false\n"
        'facts:\n  - {check: water-standing, outcome: "yes", by: customer}\n',
        encoding="utf-8",
    )
    job = read_job(file).job
    assert (job.family, job.reported, job.age_years) == ("small", ["wont_drain"], 6)
    assert job.facts[0].by == "customer"
    assert job.freezing is None
    assert (job.where, job.danger, job.model) == ("phone", [], None)


def test_circumstances_are_gathered() -> None:
    """Tests that every yes/no told is one circumstance, those not asked none."""
    job = parse_job("family: a\njust_moved: true\ncontext: {new_machine: false}\n").job
    assert job.circumstances == {"just_moved": True, "new_machine": False}
    assert parse_job("family: a\n").job.circumstances == {}


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("reported: [a]\n", 1, "needs either a family or a model"),
        ("family: a\nmodel: b\n", 1, "needs either a family or a model"),
        ("family: a\nage_years: 90\n", 2, "90 years is out of range"),
        ("family: a\nage_years: -1\n", 2, "-1 years is out of range"),
        ("family: a\nfacts:\n  - {outcome: works}\n", 3, "no check, remedy or condition"),
        ("family: a\nfacts:\n  - {check: a, remedy: b, outcome: c}\n", 3, "check and remedy"),
        ("family: a\nfacts:\n  - {check: a}\n", 3, "a check has no outcome"),
        ("family: a\nfacts:\n  - {remedy: a}\n", 3, "a remedy has no outcome"),
        ("family: a\nreportd: [a]\n", 2, "reportd"),
        ("family: a\nwhere: street\n", 2, "street"),
    ],
)
def test_bad_files_are_refused(text: str, line: int, what: str) -> None:
    """Tests that what is wrong is told with its line."""
    with pytest.raises(JobFileError) as caught:
        parse_job(text)
    problem = caught.value.problems[0]
    assert problem.line == line
    assert what in str(problem)
    assert problem.mend
