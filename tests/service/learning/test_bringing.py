"""Old jobs brought in from lists of any shape: looked at, all or none, nothing twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import HistoryError
from tubside.learning.history import MILLION
from tubside.service.data_folder import open_data
from tubside.service.learning.bringing import bring_in, brought_jobs, looked_at, take_out
from tubside.service.learning.learned import job_rows
from tubside.service.learning.old_columns import Layout
from tubside.service.learning.old_lists import read_old_list
from tubside.service.library import Library
from tubside.service.open_repair_data import Provider, table
from tubside.store.opening import Store

NOW = datetime(2026, 3, 20, 9, tzinfo=UTC)
LIBRARY = Library()
OLD = """Tag;Maschine;Fehler;Alter;Kunde
13.2.2024;Frontlader;Flusensieb zu;7,5;Müller
02.03.2024 14:10;Frontlader;Riemen;;Weiß
2.3.2024;Toaster;kalt;3;Groß
"""
WORDS = {
    "family": {"frontlader": "front_load", "toaster": "-"},
    "cause": {"flusensieb zu": "pump-object", "riemen": "belt"},
}
LAYOUT = Layout(
    columns={"closed": "Tag", "family": "Maschine", "cause": "Fehler", "age_years": "Alter"},
    words=WORDS,
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store."""
    opened = open_data(tmp_path / "data", lambda: NOW)
    yield opened
    opened.close()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_encodings(encoding: str) -> None:
    """Tests that each is found, and umlauts come out as they went in."""
    sheet = read_old_list(OLD.encode(encoding))
    assert sheet.encoding == encoding.removesuffix("-sig").removesuffix("-le")
    assert sheet.separator == "semicolon"
    assert [line for line, _ in sheet.rows] == [2, 3, 4]
    assert [row["Kunde"] for _, row in sheet.rows] == ["Müller", "Weiß", "Groß"]


@given(st.sampled_from([(",", "comma"), (";", "semicolon"), ("\t", "tab"), ("|", "bar")]))
def test_separators(mark: tuple[str, str]) -> None:
    """Tests that the separator is found, whatever stands in the cells."""
    text = f'date{mark[0]}what\n1.2.2024{mark[0]}"a,b;c"\n1.3.2024{mark[0]}d\n'
    assert read_old_list(text.encode()).separator == mark[1]


def test_a_list_of_words_and_decimal_commas(store: Store) -> None:
    """Tests every job by hand: dates, a comma in an age, a row left out, no name kept."""
    found = looked_at(store, LIBRARY, OLD.encode("cp1252"), NOW, LAYOUT)
    assert (found.good, found.new, found.taken.left_out) == (True, 2, 1)
    assert brought_jobs(store) == ()
    assert bring_in(store, LIBRARY, OLD.encode("cp1252"), NOW).new == 2
    jobs = sorted(brought_jobs(store), key=lambda job: job.closed)
    assert [job.closed for job in jobs] == [date(2024, 2, 13), date(2024, 3, 2)]
    assert [job.age_years for job in jobs] == [7.5, None]
    assert [job.causes for job in jobs] == [{"pump-object": MILLION}, {"belt": MILLION}]
    assert {job.sure for job in jobs} == {"remedy-worked"}
    assert "Müller" not in repr(jobs)
    assert len(job_rows(store, LIBRARY)) == 2


def test_the_same_list_again_brings_nothing(store: Store) -> None:
    """Tests that it may be brought twice, also longer and in another encoding."""
    looked_at(store, LIBRARY, OLD.encode(), NOW, LAYOUT)
    assert bring_in(store, LIBRARY, OLD.encode(), NOW).new == 2
    assert bring_in(store, LIBRARY, OLD.encode("utf-16"), NOW).new == 0
    longer = OLD + "13.2.2024;Frontlader;Flusensieb zu;7,5;Müller\n"
    assert bring_in(store, LIBRARY, longer.encode(), NOW).new == 1  # the second of two like rows
    assert take_out(store) == 3
    assert brought_jobs(store) == ()


def test_one_wrong_row_keeps_nothing(store: Store) -> None:
    """Tests that every wrong row is told with its line, and nothing is half brought in."""
    wrong = OLD + "30.2.2024;Frontlader;Riemen;3;x\n3.3.2024;Frontlader;Riemen;alt;x\n"
    found = looked_at(store, LIBRARY, wrong.encode(), NOW, LAYOUT)
    assert [problem.line for problem in found.taken.problems] == [5, 6]
    with pytest.raises(HistoryError, match="2 rows are wrong"):
        bring_in(store, LIBRARY, wrong.encode(), NOW)
    assert brought_jobs(store) == ()


def test_words_that_are_not_known(store: Store) -> None:
    """Tests that they are asked for, with how many rows hold them."""
    told = Layout(columns=LAYOUT.columns, words={"family": WORDS["family"]})
    found = looked_at(store, LIBRARY, OLD.encode(), NOW, told)
    words = {("cause", "front_load/Flusensieb zu", 1), ("cause", "front_load/Riemen", 1)}
    assert set(found.taken.unknown_words) == words
    assert not found.good


def test_which_comes_first_day_or_month(store: Store) -> None:
    """Tests that a date that can be read one way only settles it for the whole list."""
    text = "date,family,cause\n2/3/2024,front_load,belt\n2/13/2024,front_load,belt\n"
    found = looked_at(store, LIBRARY, text.encode(), NOW)
    assert found.layout.order == "month-day"
    days = sorted(job.closed for job in found.taken.jobs.values())
    assert days == [date(2024, 2, 3), date(2024, 2, 13)]


def test_the_open_standard(store: Store) -> None:
    """Tests that a list of the standard is read, laundry alone, a cause where one is named."""
    first = next(table(store, LIBRARY, Provider("Mill", "NZL")))
    title = LIBRARY.family("front_load").pack.causes["belt"].title
    start = 'a,Mill,NZL,"Washing machine, front-load",Large,17,Unknown,,9,Fixed,,Mill,2024-03-01,'
    rows = [
        f'{start}"Noise. Cause: {title}"',
        "b,Mill,NZL,Tumble dryer,Large,17,Unknown,,,Unknown,,Mill,2024-03-01,no heat",
        "c,Mill,NZL,Toaster,Small,5,Unknown,,,Fixed,,Mill,2024-03-01,cold",
    ]
    content = (first + "\r\n".join(rows)).encode()
    found = bring_in(store, LIBRARY, content, NOW)
    assert (found.new, found.taken.left_out) == (2, 1)
    jobs = {job.family: job for job in brought_jobs(store)}
    assert jobs["front_load"].causes == {"belt": MILLION}
    assert jobs["front_load"].sure == "remedy-worked"
    assert (jobs["dryer"].causes, jobs["dryer"].sure) == ({}, "not-confirmed")
