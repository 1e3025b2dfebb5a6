"""The facts of a job in a file (documented in docs/job-file.md), read strictly."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import msgspec

from tubside.errors import JobFileError, Problem
from tubside.pack.schema import Danger, Observer
from tubside.strict_yaml import Document, convert, read_file, read_text


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base: unknown keys are refused."""


class Indication(Record):
    """What the panel showed, as told: lamp id -> words, the sound, the display's text."""

    lamps: dict[str, str] = {}
    sound: str | None = None
    display: str | None = None


class Clip(Record):
    """What recordings say of the panel: message id -> P(recorded | message), lamps and sound."""

    lamps: dict[str, float] = {}
    sound: dict[str, float] = {}


class FactLine(Record):
    """One line of ``facts``: exactly one of check, remedy, condition, came_back.

    A reading has a ``value`` in place of an outcome, ``si`` and ``error_si`` where the
    program kept the number and its standard deviation.
    """

    check: str | None = None
    remedy: str | None = None
    condition: str | None = None
    came_back: bool | None = None
    outcome: str | None = None
    value: str | None = None
    si: float | None = None
    error_si: float | None = None
    sure: bool = False
    instrument: str | None = None
    by: Observer | None = None
    again: bool = False


class JobFile(Record):
    """A job as written down; what is absent was not asked."""

    family: str | None = None
    model: str | None = None
    reported: list[str] = []
    indication: Indication | None = None
    clip: Clip | None = None
    when: str | None = None
    reached: str | None = None
    how_often: Literal["every time", "every-time", "sometimes", "once"] | None = None
    age_years: float | None = None
    just_moved: bool | None = None
    freezing: bool | None = None
    context: dict[str, bool] = {}
    variants: dict[str, str] = {}
    danger: list[Danger] = []
    where: Literal["phone", "site"] = "phone"
    aboard: list[str] = []
    not_aboard: list[str] = []
    facts: list[FactLine] = []

    @property
    def circumstances(self) -> dict[str, bool]:
        """Every yes/no told of the place and its history, by its name in the pack."""
        told = {"just_moved": self.just_moved, "freezing": self.freezing}
        return {name: value for name, value in told.items() if value is not None} | self.context


class JobSource(msgspec.Struct, frozen=True):
    """A job file and the place of each of its parts."""

    job: JobFile
    document: Document


def read_job(path: Path) -> JobSource:
    """Read a job file.

    Raises
    ------
    JobFileError
        With every problem: file:line, what, and how to mend it.
    """
    return _checked(read_file(path, str(path), JobFileError))


def parse_job(text: str, file: str = "job.yaml") -> JobSource:
    """Like :func:`read_job`, from text."""
    return _checked(read_text(text, file, JobFileError))


def _checked(document: Document) -> JobSource:
    job = convert(document, JobFile, JobFileError)
    problems: list[Problem] = []
    if (job.family is None) == (job.model is None):
        problems.append(
            document.problem((), "a job needs either a family or a model", "write one of the two")
        )
    if job.age_years is not None and not 0 <= job.age_years <= 80:
        problems.append(
            document.problem(
                ("age_years",),
                f"an age of {job.age_years:g} years is out of range",
                "write 0 to 80",
            )
        )
    for number, line in enumerate(job.facts):
        problems += _line_problems(document, number, line)
    if problems:
        raise JobFileError(sorted(problems))
    return JobSource(job, document)


def _line_problems(document: Document, number: int, line: FactLine) -> list[Problem]:
    place = ("facts", number)
    kinds = [
        k for k in ("check", "remedy", "condition", "came_back") if getattr(line, k) is not None
    ]
    if len(kinds) != 1:
        what = "a fact has " + (" and ".join(kinds) if kinds else "no check, remedy or condition")
        return [document.problem(place, what, "write exactly one of them in each line")]
    if line.value is not None:
        return _value_problems(document, place, line, kinds[0])
    if kinds[0] != "came_back" and line.outcome is None:
        return [document.problem(place, f"a {kinds[0]} has no outcome", "add 'outcome: ...'")]
    return []


def _value_problems(
    document: Document, place: tuple[str, int], line: FactLine, kind: str
) -> list[Problem]:
    if kind != "check":
        return [document.problem(place, f"a {kind} takes no value", "write 'outcome: ...'")]
    if line.outcome is not None:
        mend = "write one of them"
        return [document.problem(place, "a check has an outcome and a value", mend)]
    if line.error_si is not None and not line.error_si > 0.0:
        what = f"a standard deviation of {line.error_si:g} cannot be"
        return [document.problem((*place, "error_si"), what, "write one above 0, or leave it out")]
    return []
