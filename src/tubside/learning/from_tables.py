"""Closed jobs in CSV or Parquet counted by DuckDB: the same counts, to the last millionth.

One table of ten million jobs is read in several passes, each of which groups a few columns
and keeps only what is counted. Rows that are written otherwise than
:func:`tubside.learning.history.row_of` writes them go through
:func:`tubside.learning.history.job_of` one by one, so that both ways read, and refuse, the same.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tubside.errors import HistoryError
from tubside.learning import table_queries as asked
from tubside.learning.counts import Counts, Key, counts_of
from tubside.learning.history import COLUMNS, MILLION, ClosedJob, job_of

if TYPE_CHECKING:
    import duckdb

BATCH = 2000
MEMORY = "3GB"
"""What DuckDB may hold; beyond it, it writes to a folder for what is passing."""


def counts_of_tables(files: Sequence[Path], *, threads: int | None = None) -> Counts:
    """The counts of all jobs in some tables of one kind, CSV or Parquet.

    Equal to ``counted(job_of(row) for row in ...)``, whatever the order of the rows.

    Parameters
    ----------
    files : sequence of Path
        Tables with the columns :data:`tubside.learning.history.COLUMNS`, in any order; a column
        that is not there is taken as empty.
    threads : int, optional
        How many DuckDB uses; as many as there are cores if not given.

    Raises
    ------
    HistoryError
        A table that cannot be read, a field that cannot, or DuckDB is not installed.
    """
    total: Counter[Key] = Counter()
    engine = _engine()
    with engine.connect(":memory:", config=_settings(threads)) as opened:
        try:
            _open(opened, files)
            if _split(opened):
                for job in _one_by_one(opened):
                    for key, millionths in counts_of(job):
                        total[key] += millionths
            for query, keys in _QUERIES:
                for row in _rows(opened, query):
                    for key, millionths in keys(row[:3], row[3:]):
                        total[key] += millionths
        except engine.Error as wrong:
            msg = f"the table {files[0]} cannot be read: {_first_line(wrong)}"
            raise HistoryError(msg) from wrong
    return Counts({key: found for key, found in sorted(total.items()) if found})


def _engine() -> Any:  # noqa: ANN401  # a module
    try:
        import duckdb  # noqa: PLC0415  # an extra, and start-up stays fast
    except ModuleNotFoundError as wrong:
        msg = "tables of jobs need one more package: pip install 'tubside[history]'"
        raise HistoryError(msg) from wrong
    return duckdb


def _settings(threads: int | None) -> dict[str, str]:
    settings = {"memory_limit": MEMORY, "preserve_insertion_order": "false"}
    return settings if threads is None else settings | {"threads": str(threads)}


def _open(opened: duckdb.DuckDBPyConnection, files: Sequence[Path]) -> None:
    """Make the view ``rows``; a CSV is read once, into a table of its own."""
    kinds = {file.suffix.lower() for file in files}
    if kinds not in ({".csv"}, {".parquet"}):
        msg = "name tables that end in .csv, or such that end in .parquet"
        raise HistoryError(msg)
    if missing := [file for file in files if not file.is_file()]:
        msg = f"there is no file {missing[0]}"
        raise HistoryError(msg)
    names = [str(file) for file in files]
    if kinds == {".parquet"}:
        found = opened.read_parquet(names, union_by_name=True)
        opened.register("given", found)
        opened.execute(f"CREATE VIEW rows AS SELECT {asked.texts(set(found.columns))} FROM given")  # noqa: S608  # names of columns of ours
        return
    found = opened.read_csv(
        names,
        header=True,
        all_varchar=True,
        sep=",",
        quotechar='"',
        escapechar='"',
        encoding="utf-8",
        union_by_name=True,
    )
    opened.register("given", found)
    opened.execute(f"CREATE TEMP TABLE rows AS SELECT {asked.texts(set(found.columns))} FROM given")  # noqa: S608  # names of columns of ours


def _split(opened: duckdb.DuckDBPyConnection) -> bool:
    """Make the view ``plain``; return whether there are rows that are not."""
    some = not _all_plain(opened)
    where = f" WHERE {asked.PLAIN}" if some else ""
    opened.execute(f"CREATE VIEW plain AS SELECT * FROM rows{where}")  # noqa: S608  # a text of ours
    return some


def _all_plain(opened: duckdb.DuckDBPyConnection) -> bool:
    for name, query in asked.LOOKED_AT.items():
        form = re.compile(asked.FORMS[name])
        part = name in asked.LISTS
        if any(not form.fullmatch(text) or (part and not text) for (text,) in _rows(opened, query)):
            return False
    odd = opened.execute(asked.SOME_ODD).fetchone()
    return bool(odd and not odd[0])


def _one_by_one(opened: duckdb.DuckDBPyConnection) -> Iterator[ClosedJob]:
    for row in _rows(opened, f"SELECT * FROM rows WHERE NOT ({asked.PLAIN})"):  # noqa: S608  # a text of ours
        yield job_of(dict(zip(COLUMNS, row, strict=True)))


def _rows(opened: duckdb.DuckDBPyConnection, query: str) -> Iterator[Row]:
    found = opened.execute(query)
    while batch := found.fetchmany(BATCH):
        yield from batch


def _first_line(wrong: Exception) -> str:
    return str(wrong).partition("\n")[0]


Found = Iterator[tuple[Key, int]]
Place = tuple[str, str, str]
Row = tuple[Any, ...]


def _jobs(at: Place, row: Row) -> Found:
    jobs, sure, several = row
    yield Key(*at, "jobs"), jobs * MILLION
    yield Key(*at, "several", value="yes"), several
    yield Key(*at, "several", value="no"), sure * MILLION - several


def _causes(at: Place, row: Row) -> Found:
    cause, complaint, sure, by_phone, callback, share = row
    yield Key(*at, "cause", complaint, value=cause), share
    if sure == "not-confirmed":
        yield Key(*at, "doubt", complaint, value=cause), share
    elif by_phone:
        yield Key(*at, "phone", cause, value=by_phone), share
        yield Key(*at, "callback", cause, value=_yes(callback)), share
    yield Key(*at, "sure", cause, value=sure), share


def _months(at: Place, row: Row) -> Found:
    cause, month, share = row
    yield Key(*at, "month", cause, value=month), share


def _ages(at: Place, row: Row) -> Found:
    cause, age, share = row
    yield Key(*at, "age", cause, value=age), share


def _cures(at: Place, row: Row) -> Found:
    cause, part, sure, share = row
    remedy, _, cured = part.partition("=")
    yield Key(*at, "cure", remedy, cause, cured, sure), share


def _outcomes(at: Place, row: Row) -> Found:
    cause, part, sure, share = row
    check, _, outcome = part.partition("=")
    yield Key(*at, "outcome", check, cause, outcome, sure), share


def _minutes(at: Place, row: Row) -> Found:
    part, jobs = row
    step, _, minutes = part.partition("=")
    yield Key(*at, "minutes", step, value=minutes), jobs * MILLION


def _prices(at: Place, row: Row) -> Found:
    part, jobs = row
    kind, _, cents = part.partition("=")
    yield Key(*at, "price", kind, value=cents), jobs * MILLION


def _unsure(at: Place, row: Row) -> Found:
    complaint, checks, jobs = row
    told = ";".join(sorted(set(filter(None, checks.split(";")))))
    yield Key(*at, "unsure", complaint, told), jobs * MILLION


def _yes(said: object) -> str:
    return "yes" if said else "no"


_QUERIES: tuple[tuple[str, Callable[[Place, Row], Found]], ...] = (
    (asked.JOBS, _jobs),
    (asked.CAUSES, _causes),
    (asked.MONTHS, _months),
    (asked.AGES, _ages),
    (asked.CURES, _cures),
    (asked.OUTCOMES, _outcomes),
    (asked.MINUTES, _minutes),
    (asked.PRICES, _prices),
    (asked.UNSURE, _unsure),
)
