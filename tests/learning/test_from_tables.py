"""Tests of counting tables of closed jobs: the same counts as one by one."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tubside.errors import HistoryError
from tubside.learning.counts import counted
from tubside.learning.from_tables import counts_of_tables
from tubside.learning.history import COLUMNS, MILLION, SURE, CheckTold, ClosedJob, job_of, row_of

duckdb = pytest.importorskip("duckdb", reason="DuckDB is absent: pip install 'tubside[history]'")

NAMES = st.sampled_from(["pump-worn", "hose_kinked", "a", "b2", "x-1_y"])
SHARES = st.lists(st.integers(0, MILLION), min_size=2, max_size=2).map(
    lambda cut: [min(cut), max(cut) - min(cut), MILLION - max(cut)]
)


@st.composite
def _jobs(draw: st.DrawFn) -> ClosedJob:
    causes = draw(st.lists(NAMES, unique=True, max_size=3))
    return ClosedJob(
        job="j",
        closed=draw(st.dates(date(2001, 1, 1), date(2030, 12, 31))),
        family=draw(st.sampled_from(["dryer", "top_load"])),
        model=draw(st.sampled_from(["", "m-1"])),
        shop=draw(st.sampled_from(["", "s"])),
        complaint=draw(st.one_of(st.just(""), NAMES)),
        age_years=draw(st.one_of(st.none(), st.floats(0, 60), st.integers(0, 9).map(float))),
        causes=dict(zip(causes, draw(SHARES), strict=False)),
        several=draw(st.one_of(st.none(), st.integers(0, MILLION))),
        sure=draw(st.sampled_from(SURE)),
        checks=tuple(draw(st.lists(st.builds(CheckTold, NAMES, NAMES, NAMES), max_size=3))),
        decided=draw(st.frozensets(NAMES, max_size=2)),
        remedies=draw(st.dictionaries(NAMES, st.booleans(), max_size=3)),
        minutes=draw(st.dictionaries(NAMES, st.integers(0, 500), max_size=3)),
        prices=draw(st.dictionaries(NAMES, st.integers(0, 10**20), max_size=3)),
        by_phone=draw(st.sampled_from([None, False, True])),
        callback_of=draw(st.sampled_from(["", "earlier, with a comma"])),
    )


def write(rows: list[dict[str, str]], file: Path) -> Path:
    """Write rows as CSV, as the csv module of Python does."""
    with file.open("w", encoding="utf-8", newline="") as opened:
        out = csv.DictWriter(opened, COLUMNS)
        out.writeheader()
        out.writerows(rows)
    return file


def as_parquet(file: Path) -> Path:
    """Write the same table as Parquet."""
    other = file.with_suffix(".parquet")
    other.unlink(missing_ok=True)
    with duckdb.connect() as opened:
        opened.read_csv(str(file), header=True, all_varchar=True).write_parquet(str(other))
    return other


ODD = {
    "closed": ["20260302", "2026-02-28"],
    "age_years": ["7.5", "1e1", "007", " 3 "],
    "causes": ["a=1", "a=0.2;a=0.7", "a=.25", "a=0.1234567;b=0.5", ";a=1;", "a=1e-6"],
    "several": ["", "1.0", "0.0000005", "0.0000015"],
    "checks": ["c=x@y", "c=x@y;c=x@y;", "d=x@y;c=z@y"],
    "decided": ["", "c;c", "d"],
    "remedies": ["", "r=yes;r=no", "r=yes;s=no;r=no"],
    "minutes": ["", "c= 4", "c=04", "c=4;c=5", "c=-1", "c=1_000"],
    "prices": ["", "p=4500;q=1;p=2", "p=4500"],
    "by_phone": ["", "yes"],
    "sure": ["", "seen", "not-confirmed"],
}


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(_jobs(), min_size=1, max_size=30))
def test_the_same_counts_as_one_by_one(tmp_path: Path, jobs: list[ClosedJob]) -> None:
    """Tests that CSV and Parquet give exactly what each job by itself gives, added up."""
    rows = [row_of(job) for job in jobs]
    wanted = counted(job_of(row) for row in rows)
    file = write(rows, tmp_path / "jobs.csv")
    assert counts_of_tables([file]) == wanted
    assert counts_of_tables([as_parquet(file)]) == wanted


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.lists(st.fixed_dictionaries({n: st.sampled_from(v) for n, v in ODD.items()}), max_size=30)
)
def test_odd_writings_are_read_alike(tmp_path: Path, rows: list[dict[str, str]]) -> None:
    """Tests rows that may be read but are written otherwise: told twice, spaced, long shares."""
    full = [dict.fromkeys(COLUMNS, "") | {"family": "dryer"} | row for row in rows]
    file = write(full, tmp_path / "jobs.csv")
    assert counts_of_tables([file]) == counted(job_of(row) for row in full)


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("causes", "a"),
        ("causes", "a=0.7;b=0.4"),
        ("closed", "2026-02-30"),
        ("family", "Dryer"),
        ("sure", "maybe"),
        ("minutes", "c=4.5"),
        ("age_years", "old"),
    ],
)
def test_what_cannot_be_read_is_refused_alike(tmp_path: Path, field: str, said: str) -> None:
    """Tests that a wrong field is refused in the same words, with the job's id."""
    row = dict.fromkeys(COLUMNS, "") | {"job": "j-7", "closed": "2026-03-02", field: said}
    with pytest.raises(HistoryError) as one:
        job_of(row)
    with pytest.raises(HistoryError, match="j-7") as table:
        counts_of_tables([write([row], tmp_path / "jobs.csv")])
    assert str(table.value) == str(one.value)


def test_columns_may_be_absent_or_in_another_order(tmp_path: Path) -> None:
    """Tests a small table, and two of them together."""
    file = tmp_path / "jobs.csv"
    file.write_text("closed,family,other\n2026-03-02,dryer,x\n", encoding="utf-8")
    wanted = counted([job_of({"closed": "2026-03-02", "family": "dryer"})] * 2)
    again = tmp_path / "more.csv"
    again.write_text("family,closed\ndryer,2026-03-02\n", encoding="utf-8")
    assert counts_of_tables([file, again]) == wanted


def test_what_is_no_table_is_told(tmp_path: Path) -> None:
    """Tests a file of another kind, one that is not there, and one that is no Parquet."""
    with pytest.raises(HistoryError, match="csv"):
        counts_of_tables([tmp_path / "jobs.txt"])
    with pytest.raises(HistoryError, match="no file"):
        counts_of_tables([tmp_path / "jobs.csv"])
    wrong = tmp_path / "jobs.parquet"
    wrong.write_bytes(b"nothing of the kind")
    with pytest.raises(HistoryError, match=r"jobs\.parquet"):
        counts_of_tables([wrong])
