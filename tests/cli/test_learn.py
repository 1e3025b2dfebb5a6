"""``tubside learn``: tables in, words out."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tubside.cli import main
from tubside.cli.lazy import EXIT_MISTAKE
from tubside.learning.history import MILLION, ClosedJob
from tubside.service.learning.job_table import job_table, jobs_in

OBJECT = ClosedJob(
    job="job-1",
    closed=date(2026, 3, 2),
    family="front_load",
    complaint="wont_drain",
    causes={"pump-object": MILLION},
    sure="seen",
)


def run(*given: str | Path) -> Result:
    """Run the command."""
    return CliRunner().invoke(main, ["learn", *map(str, given)])


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Sixty jobs of one cause as a table."""
    file = tmp_path / "jobs.csv"
    file.write_text(job_table([OBJECT] * 60), encoding="utf-8", newline="")
    return file


def test_rows_come_back(table: Path) -> None:
    """Tests that a table is read as it was written."""
    assert jobs_in(table) == (OBJECT,) * 60


def test_words_and_data(table: Path) -> None:
    """Tests that what moves is told with its interval, and the same stands in the plain data."""
    words = run(table)
    assert words.exit_code == 0
    assert "60 closed jobs, 0 of them with a cause in doubt" in words.output
    assert "your 60 jobs say" in words.output
    assert "Cleared without a visit" not in words.output
    assert re.search(r"no visit \d+ % \(.*, a return", run(table, "--all").output)
    told = json.loads(run(table, "--json").output)
    weight = next(it for it in told[0]["proposals"] if it["id"] == "causes / pump-object / weight")
    assert weight["moves"]
    assert weight["parts"][0]["low"] > weight["parts"][0]["pack"]


def test_a_shop_without_jobs(tmp_path: Path) -> None:
    """Tests that an empty shop is told so, and its table has a first line alone."""
    assert "no closed job" in run("--data", tmp_path / "shop").output
    out = tmp_path / "rows.csv"
    assert run("--data", tmp_path / "shop", "--export", out).exit_code == 0
    assert out.read_text(encoding="utf-8").count("\n") == 1


def test_a_wrong_row_is_named(table: Path) -> None:
    """Tests that a row that cannot be read is told with its line."""
    text = table.read_text(encoding="utf-8").replace("2026-03-02", "last week", 1)
    table.write_text(text, encoding="utf-8")
    found = run(table)
    assert found.exit_code == EXIT_MISTAKE
    assert "jobs.csv:2" in found.output
    assert "last week" in found.output


def test_an_old_list(tmp_path: Path) -> None:
    """Tests that columns and words are asked for, told, remembered, and the list is kept once."""
    old, shop = tmp_path / "old.csv", tmp_path / "shop"
    old.write_text("Tag;Art;Fehler\n3.2.2024;front_load;Riemen\n", encoding="cp1252")
    given = ("--bring", old, "--data", shop)
    columns = ("--column", "closed=Tag", "--column", "family=Art", "--column", "cause=Fehler")
    assert "cause 'front_load/Riemen' in 1 rows is not known" in run(*given, *columns).output
    refused = run(*given, "--keep")
    assert refused.exit_code == EXIT_MISTAKE
    assert "nothing was kept" in refused.output
    assert "1 of them new" in run(*given, "--word", "cause:Riemen=belt").output
    assert "1 jobs brought in" in run(*given, "--keep").output
    assert "0 jobs brought in" in run(*given, "--keep").output
    assert "1 closed jobs" in run("--data", shop, "--all").output


def test_an_old_list_of_one_kind(tmp_path: Path) -> None:
    """Tests that the kind of machine can be said for all rows, and only one there is."""
    old, shop = tmp_path / "old.csv", tmp_path / "shop"
    old.write_text("date;fault\n3.2.2024;belt\n", encoding="utf-8")
    given = ("--bring", old, "--data", shop)
    assert "say which one does" in run(*given).output
    assert "'toaster' is none of" in run(*given, "--family", "toaster").output
    wrong = run(*given, "--family", "front-load", "--word", "cause:front_load/x=belt-broken")
    assert "'belt-broken' is none of" in wrong.output
    assert "1 jobs, 1 of them new" in run(*given, "--family", "front-load").output


def test_what_is_suddenly_more(tmp_path: Path) -> None:
    """Tests that a cause that nobody met for a year, then ten times in a month, is told first."""
    last = date.today().replace(day=1) - timedelta(days=20)  # noqa: DTZ011  # the shop's own day
    usual = ("idler", "motor", "rollers-worn", "belt-broken")
    rows = [
        f"{last.replace(day=1) - timedelta(days=30 * month + 5)},dryer,{usual[job % 4]}"
        for month in range(12)
        for job in range(8)
    ]
    rows += [f"{last.replace(day=2 + job)},dryer,drum-seal" for job in range(10)]
    old, shop = tmp_path / "old.csv", tmp_path / "shop"
    old.write_text("\n".join(["date,machine,fault", *rows]) + "\n", encoding="utf-8")
    assert "106 jobs brought in" in run("--bring", old, "--data", shop, "--keep").output
    told = run("--data", shop).output
    assert told.startswith("More often than expected\n  Drum felt or seal worn or torn: 10 jobs")
    assert "More often" not in run("--data", shop, "--family", "front_load").output
