"""Tests of the row of one closed job."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import HistoryError
from tubside.learning.history import (
    COLUMNS,
    MILLION,
    SURE,
    CheckTold,
    ClosedJob,
    job_of,
    row_of,
)

CODES = st.from_regex(r"[a-z0-9]{1,6}([-_][a-z0-9]{1,5}){0,2}", fullmatch=True)
CHECKS = st.builds(CheckTold, CODES, CODES, st.sampled_from(["customer", "technician"]))
SHARES = st.dictionaries(CODES, st.integers(1, MILLION // 4), max_size=4)
JOBS = st.builds(
    ClosedJob,
    job=CODES,
    closed=st.dates(date(1990, 1, 1), date(2060, 1, 1)),
    family=CODES,
    model=CODES | st.just(""),
    shop=CODES | st.just(""),
    complaint=CODES | st.just(""),
    age_years=st.none() | st.integers(0, 300).map(lambda tenths: tenths / 10),
    causes=SHARES,
    several=st.integers(0, MILLION),
    sure=st.sampled_from(SURE),
    checks=st.lists(CHECKS, max_size=5).map(tuple),
    decided=st.frozensets(CODES, max_size=2),
    remedies=st.dictionaries(CODES, st.booleans(), max_size=3),
    minutes=st.dictionaries(CODES, st.integers(0, 600), max_size=3),
    prices=st.dictionaries(CODES, st.integers(0, 100_000), max_size=3),
    by_phone=st.booleans(),
    callback_of=CODES | st.just(""),
)


@given(JOBS)
def test_row_and_back(job: ClosedJob) -> None:
    """Tests that no field is lost or changed on the way into a table and back."""
    row = row_of(job)
    assert tuple(row) == COLUMNS
    assert job_of(row) == job


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("closed", "2 March"),
        ("age_years", "old"),
        ("causes", "pump"),
        ("checks", "pump-sound=hums"),
        ("remedies", "new-pump=perhaps"),
        ("minutes", "pump-sound=a few"),
        ("sure", "certainly"),
        ("by_phone", "1"),
    ],
)
def test_what_cannot_be_read_is_named(name: str, text: str) -> None:
    """Tests that a wrong field is told with the job, the field and how to write it."""
    row = row_of(ClosedJob(job="j-7", closed=date(2026, 3, 2), family="dryer")) | {name: text}
    with pytest.raises(HistoryError, match=f"job j-7: cannot read {name} .*write it like"):
        job_of(row)


def test_shares_above_one_are_refused() -> None:
    """Tests that the shares of the causes may not pass one in all."""
    with pytest.raises(HistoryError, match="above one"):
        ClosedJob(
            job="j", closed=date(2026, 3, 2), family="dryer", causes={"a": 600_000, "b": 600_000}
        )


def test_a_name_that_is_no_id_is_refused() -> None:
    """Tests that a cause that would not come back from a table is refused with its name."""
    with pytest.raises(HistoryError, match="'Drain pump' is no id"):
        ClosedJob(job="j", closed=date(2026, 3, 2), family="dryer", causes={"Drain pump": MILLION})
