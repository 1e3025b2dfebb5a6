"""What DuckDB is asked when it counts closed jobs: queries over a view named ``rows``.

A row is *plain* when every field has the very form in which
:func:`tubside.learning.history.row_of` writes it; of plain rows the parts of the texts can be
counted as they stand, and no number has to be read but shares, which are whole millionths.
Each query gives shop, family and model, then parts of a key, then a sum.
"""

# ruff: noqa: S608  # the texts are put together from names that stand in this file
from __future__ import annotations

from tubside.learning.history import COLUMNS, MILLION, SURE

_ID = "[a-z0-9]+(?:[-_][a-z0-9]+)*"
_SHARE = r"(?:0|1|0\.[0-9]{1,6})"
_WHOLE = "(?:0|[1-9][0-9]{0,17})"


def _list(part: str) -> str:
    return f"(?:{part}(?:;{part})*)?"


FORMS = {
    "family": f"(?:{_ID})?",
    "model": f"(?:{_ID})?",
    "shop": f"(?:{_ID})?",
    "complaint": f"(?:{_ID})?",
    "closed": r"[1-9][0-9]{3}-[01][0-9]-[0-3][0-9]",
    "age_years": r"(?:(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{1,6})?)?",
    "causes": _list(f"{_ID}={_SHARE}"),
    "several": f"{_SHARE}?",
    "sure": f"(?:{'|'.join(SURE)})?",
    "checks": _list(f"{_ID}={_ID}@{_ID}"),
    "decided": _list(_ID),
    "remedies": _list(f"{_ID}=(?:yes|no)"),
    "minutes": _list(f"{_ID}={_WHOLE}"),
    "prices": _list(f"{_ID}={_WHOLE}"),
    "by_phone": "(?:yes|no)?",
}
"""What a plain field looks like. No form allows a bar: all fields joined by bars part rightly."""


def _once(column: str) -> str:
    """No name stands twice; up to three are compared without a list of their own."""
    one, two, three = (f"split_part(string_split({column}, ';')[{n}], '=', 1)" for n in (1, 2, 3))
    names = f"string_split(regexp_replace({column}, '=[^;]*', '', 'g'), ';')"
    return (
        f"CASE WHEN NOT contains({column}, ';') THEN true "
        f"WHEN len(string_split({column}, ';')) = 2 THEN {one} <> {two} "
        f"WHEN len(string_split({column}, ';')) = 3 "
        f"THEN {one} <> {two} AND {one} <> {three} AND {two} <> {three} "
        f"ELSE len(list_distinct({names})) = len({names}) END"
    )


def _millionths(text: str) -> str:
    """A plain share as a whole number; six decimals are exact in twice the digits of a float."""
    return (
        f"CASE WHEN {text} = '1' THEN {MILLION} "
        f"ELSE TRY_CAST(round(TRY_CAST({text} AS DOUBLE) * {MILLION}) AS BIGINT) END"
    )


def _all_shares(column: str) -> str:
    """The sum of the shares of several causes is at most one."""
    share = _millionths("split_part(part, '=', 2)")
    parts = f"list_transform(string_split({column}, ';'), lambda part: {share})"
    return f"CASE WHEN contains({column}, ';') THEN list_sum({parts}) <= {MILLION} ELSE true END"


_RULES = (
    f"regexp_full_match(concat_ws('|', {', '.join(FORMS)}), '{'[|]'.join(FORMS.values())}')",
    "TRY_CAST(closed AS DATE) IS NOT NULL",
    _all_shares("causes"),
    *(f"({_once(column)})" for column in ("causes", "remedies", "minutes", "prices")),
)
PLAIN = f"coalesce({' AND '.join(_RULES)}, false)"
"""Whether a row can be counted as it stands; the others are read one by one."""

LISTS = ("checks", "remedies", "minutes", "prices")
"""Columns of which :data:`LOOKED_AT` gives the parts, and no empty ones."""
_SHORT = ("family", "model", "shop", "complaint", "sure", "by_phone")
LOOKED_AT = {
    **{name: f"SELECT DISTINCT {name} FROM rows" for name in (*_SHORT, "closed", "age_years")},
    "decided": "SELECT DISTINCT decided FROM rows",
    **{
        name: f"SELECT DISTINCT unnest(string_split({name}, ';')) FROM rows WHERE {name} <> ''"
        for name in LISTS
    },
}
"""Texts of which there are few even in many rows: ``FORMS`` can be held against each here."""
_RULES_OF_ROWS = (
    f"regexp_full_match(causes, '{FORMS['causes']}')",
    f"regexp_full_match(several, '{FORMS['several']}')",
    *_RULES[1:],
)
SOME_ODD = f"SELECT count(*) FROM rows WHERE NOT coalesce({' AND '.join(_RULES_OF_ROWS)}, false)"
"""Whether there are rows that are not plain, where all of ``LOOKED_AT`` is."""

_SURE = "CASE WHEN sure = '' THEN 'not-confirmed' ELSE sure END AS sure"
_AT = "shop, family, model"
_SEVERAL = _millionths("CASE WHEN several = '' THEN '0' ELSE several END")


def _alike(*columns: str, where: str) -> str:
    """Jobs that are alike in some columns, and how many: most are, and go on as one."""
    return (
        f"SELECT {', '.join((_AT, *columns))}, count(*) AS jobs FROM plain "
        f"WHERE {where} GROUP BY ALL"
    )


def _by_cause(*columns: str, where: str = "true") -> str:
    """Sums of shares over jobs by cause and some columns."""
    names = ", ".join(column.rpartition(" AS ")[2] for column in columns)
    alike = _alike("causes", *columns, where=f"causes <> '' AND {where}")
    each = f"SELECT *, unnest(string_split(causes, ';')) AS one FROM ({alike})"
    share = _millionths("split_part(one, '=', 2)")
    return (
        f"SELECT {_AT}, split_part(one, '=', 1) AS cause, {names}, sum(jobs * {share}) AS share "
        f"FROM ({each}) GROUP BY ALL"
    )


def _by_part(listed: str, *columns: str, where: str = "true") -> str:
    """Sums of shares over jobs by cause, each part of a listed column, and how it was made sure."""
    summed = _by_cause(listed, _SURE, *columns, where=f"{listed} <> ''")
    parts = f"SELECT *, unnest(string_split({listed}, ';')) AS part FROM ({summed})"
    return f"SELECT {_AT}, cause, part, sure, sum(share) FROM ({parts}) WHERE {where} GROUP BY ALL"


def _parts(column: str) -> str:
    alike = _alike(column, where=f"{column} <> ''")
    return (
        f"SELECT {_AT}, part, sum(jobs) FROM (SELECT *, "
        f"unnest(string_split({column}, ';')) AS part FROM ({alike})) GROUP BY {_AT}, part"
    )


_IS_SURE = "sure NOT IN ('', 'not-confirmed') AND several <> ''"
JOBS = (
    f"SELECT {_AT}, count(*), count(*) FILTER (WHERE {_IS_SURE}), "
    f"coalesce(sum({_SEVERAL}) FILTER (WHERE {_IS_SURE}), 0) FROM plain GROUP BY ALL"
)
MINUTES = _parts("minutes")
PRICES = _parts("prices")
UNSURE = _alike("complaint", "checks", where="sure IN ('', 'not-confirmed')")
CAUSES = _by_cause("complaint", _SURE, "by_phone", "callback_of <> '' AS callback")
MONTHS = _by_cause("left(closed, 7) AS month")
AGES = _by_cause("split_part(age_years, '.', 1) AS age", where="age_years <> ''")
CURES = _by_part("remedies")
_UNDECIDED = "NOT contains(';' || decided || ';', ';' || split_part(part, '=', 1) || ';')"
OUTCOMES = _by_part("checks", "decided", where=f"(decided = '' OR {_UNDECIDED})")


def texts(there: set[str]) -> str:
    """All columns as texts, those that are not there as empty ones."""
    return ", ".join(
        f"coalesce(CAST(\"{name}\" AS VARCHAR), '') AS {name}" if name in there else f"'' AS {name}"
        for name in COLUMNS
    )
