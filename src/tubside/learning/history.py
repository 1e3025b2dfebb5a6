"""One closed job as learning sees it: coded values only, one row of a table.

The same row stands in CSV and in Parquet, every field as text, so that one reader takes
both. Ids are kebab-case or snake_case, so ``;``, ``=`` and ``@`` part them. Shares are
whole millionths inside: sums of them are exact in any order, whoever adds them up.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, get_args

from tubside.errors import HistoryError

Sure = Literal["re-run", "seen", "measured", "remedy-worked", "not-confirmed"]
"""How a job's cause was made sure."""
SURE: tuple[Sure, ...] = get_args(Sure)
MILLION = 1_000_000
CODE = re.compile(r"[a-z0-9]+([-_][a-z0-9]+)*\Z")


@dataclass(frozen=True, slots=True)
class CheckTold:
    """One check of the job: its outcome, and who told it."""

    check: str
    outcome: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedJob:
    """A closed job.

    Parameters
    ----------
    job, callback_of : str
        Random ids; of the earlier job, where this is a return for the same trouble.
    closed : date
        When it was closed.
    family, model, shop : str
        Ids; model and shop may be empty.
    complaint : str
        The condition told first, empty when unknown.
    age_years : float or None
        Of the machine.
    causes : mapping
        Cause -> millionths: the share with which it was the main one; a million in all
        but for what stays unknown.
    several : int or None
        Millionths: the chance that more than one cause was there; None where nothing says.
    sure : str
        How the cause was made sure.
    checks : tuple of CheckTold
        In the order in which they were told.
    decided : frozenset of str
        Checks that decided which cause it was: the job says nothing of how reliable they are.
    remedies : mapping
        Remedy -> whether its re-run passed.
    minutes : mapping
        Step (a check or a remedy) -> whole minutes it took.
    prices : mapping
        Part kind -> whole cents paid for one.
    by_phone : bool or None
        Cleared by the customer, without a visit; None where nothing says, and then nothing says
        either whether it was a return.
    """

    job: str
    closed: date
    family: str
    model: str = ""
    shop: str = ""
    complaint: str = ""
    age_years: float | None = None
    causes: Mapping[str, int] = field(default_factory=dict)
    several: int | None = None
    sure: Sure = "not-confirmed"
    checks: tuple[CheckTold, ...] = ()
    decided: frozenset[str] = frozenset()
    remedies: Mapping[str, bool] = field(default_factory=dict)
    minutes: Mapping[str, int] = field(default_factory=dict)
    prices: Mapping[str, int] = field(default_factory=dict)
    by_phone: bool | None = False
    callback_of: str = ""

    def __post_init__(self) -> None:
        """Refuse what could not be told apart again, or not be counted."""
        for name in _names(self):
            if name and not CODE.match(name):
                msg = f"job {self.job}: {name!r} is no id; write small letters, digits and - or _"
                raise HistoryError(msg)
        if any(share < 0 for share in self.causes.values()) or sum(self.causes.values()) > MILLION:
            msg = f"job {self.job}: the shares of its causes are negative or above one in all"
            raise HistoryError(msg)
        if self.several is not None and not 0 <= self.several <= MILLION:
            msg = f"job {self.job}: 'several' is a chance in millionths, from 0 to {MILLION}"
            raise HistoryError(msg)


def _names(job: ClosedJob) -> Iterator[str]:
    yield from (job.family, job.model, job.shop, job.complaint)
    yield from (*job.causes, *job.decided, *job.remedies, *job.minutes, *job.prices)
    for told in job.checks:
        yield from (told.check, told.outcome, told.by)


COLUMNS = (
    "job",
    "closed",
    "family",
    "model",
    "shop",
    "complaint",
    "age_years",
    "causes",
    "several",
    "sure",
    "checks",
    "decided",
    "remedies",
    "minutes",
    "prices",
    "by_phone",
    "callback_of",
)
"""Of the table, in its order."""


def row_of(job: ClosedJob) -> dict[str, str]:
    """The job as one row of texts.

    >>> row = row_of(ClosedJob(job="j1", closed=date(2026, 3, 2), family="top_load",
    ...     causes={"drain-hose-kinked": 700_000, "standpipe-blocked": 300_000},
    ...     checks=(CheckTold("pump-sound", "hums", "technician"),)))
    >>> row["causes"], row["checks"]
    ('drain-hose-kinked=0.7;standpipe-blocked=0.3', 'pump-sound=hums@technician')
    """
    return {
        "job": job.job,
        "closed": job.closed.isoformat(),
        "family": job.family,
        "model": job.model,
        "shop": job.shop,
        "complaint": job.complaint,
        "age_years": "" if job.age_years is None else format(job.age_years, "g"),
        "causes": ";".join(f"{cause}={_share(part)}" for cause, part in job.causes.items()),
        "several": "" if job.several is None else _share(job.several),
        "sure": job.sure,
        "checks": ";".join(f"{told.check}={told.outcome}@{told.by}" for told in job.checks),
        "decided": ";".join(sorted(job.decided)),
        "remedies": ";".join(f"{name}={_yes(cured)}" for name, cured in job.remedies.items()),
        "minutes": ";".join(f"{step}={minutes}" for step, minutes in job.minutes.items()),
        "prices": ";".join(f"{kind}={cents}" for kind, cents in job.prices.items()),
        "by_phone": "" if job.by_phone is None else _yes(job.by_phone),
        "callback_of": job.callback_of,
    }


def job_of(row: Mapping[str, str]) -> ClosedJob:
    """The job of one row; :func:`row_of` turned round.

    Raises
    ------
    HistoryError
        A field that cannot be read, with the job's id and the field's name.
    """
    values: dict[str, object] = {name: row.get(name) or "" for name in COLUMNS}
    for name, read in _READ.items():
        try:
            values[name] = read(row.get(name) or "")
        except (ValueError, KeyError, StopIteration):
            msg = (
                f"job {row.get('job') or '?'}: cannot read {name} {row.get(name)!r}; "
                f"write it like {_LIKE[name]!r}"
            )
            raise HistoryError(msg) from None
    return ClosedJob(**values)  # type: ignore[arg-type]  # the names are those of COLUMNS


def _share(millionths: int) -> str:
    """A share as a decimal, without idle noughts.

    >>> _share(300_000), _share(0), _share(1_000_000)
    ('0.3', '0', '1')
    """
    whole, rest = divmod(millionths, MILLION)
    return f"{whole}.{rest:06}".rstrip("0").rstrip(".")


def _yes(said: bool) -> str:
    return "yes" if said else "no"


def _millionths(text: str) -> int:
    return round(float(text) * MILLION)


def _pairs(text: str) -> dict[str, str]:
    pairs = [part.split("=") for part in _parts(text)]
    return {name: said for name, said in pairs}  # noqa: C416  # a part without '=' must fail here


def _parts(text: str) -> list[str]:
    return [part for part in text.split(";") if part]


def _told(part: str) -> CheckTold:
    check, said = part.split("=")
    outcome, by = said.split("@")
    return CheckTold(check, outcome, by)


def _checks(text: str) -> tuple[CheckTold, ...]:
    return tuple(_told(part) for part in _parts(text))


def _sure(text: str) -> Sure:
    if not text:
        return "not-confirmed"
    return next(known for known in SURE if known == text)


_WORDS = {"yes": True, "no": False}
_READ: dict[str, Callable[[str], object]] = {
    "closed": date.fromisoformat,
    "age_years": lambda text: float(text) if text else None,
    "causes": lambda text: {name: _millionths(said) for name, said in _pairs(text).items()},
    "several": lambda text: _millionths(text) if text else None,
    "sure": _sure,
    "checks": _checks,
    "decided": lambda text: frozenset(_parts(text)),
    "remedies": lambda text: {name: _WORDS[said] for name, said in _pairs(text).items()},
    "minutes": lambda text: {name: int(said) for name, said in _pairs(text).items()},
    "prices": lambda text: {name: int(said) for name, said in _pairs(text).items()},
    "by_phone": lambda text: _WORDS[text] if text else None,
}
_LIKE = {
    "closed": "2026-03-02",
    "age_years": "7.5",
    "causes": "drain-hose-kinked=0.7;standpipe-blocked=0.3",
    "several": "0.08",
    "sure": "measured",
    "checks": "pump-sound=hums@technician",
    "decided": "pump-sound",
    "remedies": "straighten-hose=yes",
    "minutes": "pump-sound=4",
    "prices": "drain-pump=4500",
    "by_phone": "no",
}
