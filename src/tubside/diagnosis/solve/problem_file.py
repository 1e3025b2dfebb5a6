"""A troubleshooting problem as a JSON file (documented in docs/solve.md), read strictly."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path as FilePath

import msgspec
import numpy as np

from tubside.diagnosis.solve.json_text import JsonDocument, read_json
from tubside.diagnosis.solve.problem import (
    NO_COVER,
    Check,
    Cover,
    Floats,
    Problem,
    Remedy,
    Stop,
)
from tubside.diagnosis.solve.problem_schema import (
    TEXT_FIELDS,
    CheckRecord,
    CoverRecord,
    ProblemRecord,
    RemedyRecord,
    StopRecord,
)
from tubside.diagnosis.solve.problem_sense import Wrong as Clash
from tubside.diagnosis.solve.problem_sense import wrongs
from tubside.diagnosis.solve.sets import said
from tubside.errors import Problem as Wrong
from tubside.errors import ProblemFileError, ProblemTableError
from tubside.strict_yaml import Path, convert
from tubside.strict_yaml.reading import decoded

_BARE = re.compile(r"\s*[-+.0-9].*|true|false|yes|no", re.IGNORECASE)


def read_problem(path: FilePath) -> Problem:
    """Read a problem from a file.

    Raises
    ------
    ProblemFileError
        With every problem found: file:line, the field, and how to mend it.
    """
    try:
        data = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror or wrong})"
        problem = Wrong(str(path), 1, what, "check the path and its permissions")
        raise ProblemFileError([problem]) from wrong
    return parse_problem(decoded(data, str(path), ProblemFileError), str(path))


def parse_problem(text: str, file: str = "problem.json") -> Problem:
    """Like :func:`read_problem`, from text; ``file`` is its name in problems.

    Examples
    --------
    >>> two = parse_problem('{"causes": {"a": 0.75, "b": 0.25}, "stops": {"refer": {"cost": 9}}}')
    >>> two.causes, two.prior.tolist(), two.stops[0].cost
    (('a', 'b'), [0.75, 0.25], 9.0)
    """
    source = read_json(text, file, ProblemFileError)
    mixed_up = list(_texts_and_numbers(source))
    try:
        record = convert(source.document, ProblemRecord, ProblemFileError)
    except ProblemFileError as wrong:
        raise ProblemFileError(sorted({*mixed_up, *wrong.problems})) from None
    if mixed_up:
        raise ProblemFileError(sorted(mixed_up))
    found = [source.document.problem(w.path, w.what, w.mend) for w in wrongs(record)]
    problem = problem_of(record) if not found else None
    if problem is not None and not problem.single_fault:
        found = [source.document.problem(w.path, w.what, w.mend) for w in _clashes(problem)]
    if problem is None or found:
        raise ProblemFileError(sorted(found))
    return problem


def _clashes(problem: Problem) -> Iterator[Clash]:
    """Checks whose chances cannot be true of several causes at once."""
    alone = np.eye(len(problem.causes), dtype=np.bool_)
    for check in problem.checks:
        try:
            said(check, alone, single_fault=False)
        except ProblemTableError as wrong:
            what, _, mend = str(wrong).partition("; ")
            field = f"'checks.{check.name}'"
            yield Clash(("checks", check.name), what.replace(f"check {check.name!r}", field), mend)


def _texts_and_numbers(source: JsonDocument) -> Iterator[Wrong]:
    """Numbers in quotation marks, and texts without, which the tree of texts does not show."""
    for path in source.document.places:
        part: object = source.document.tree
        for step in path:
            part = part[step]  # type: ignore[index]  # the path comes from the tree
        if not isinstance(part, str):
            continue
        field, is_text = "'" + ".".join(map(str, path)) + "'", _is_text(path)
        if path in source.quoted and not is_text and _BARE.fullmatch(part):
            what = f"{field} is the text '{part}'"
            yield source.document.problem(path, what, "write it without quotation marks")
        elif path not in source.quoted and is_text:
            yield source.document.problem(path, f"{field} is {part}", 'write a "text"')


def _is_text(path: Path) -> bool:
    return any(
        len(path) == len(pattern)
        and all(want in ("*", step) for want, step in zip(pattern, path, strict=True))
        for pattern in TEXT_FIELDS
    )


def problem_of(record: ProblemRecord) -> Problem:
    """The arrays of a record that makes sense."""
    causes, covers = tuple(record.causes), list(record.covers)
    prior = np.array(list(record.causes.values()))
    checks = (_check(name, r, causes, covers) for name, r in record.checks.items())
    remedies = (_remedy(name, r, causes, covers) for name, r in record.remedies.items())
    return Problem(
        record.title,
        record.goal,
        record.single_fault,
        causes,
        _summing_to_one(prior) if record.single_fault else prior,
        tuple(checks),
        tuple(remedies),
        tuple(Cover(name, c.open, c.close) for name, c in record.covers.items()),
        tuple(Stop(name, s.cost) for name, s in record.stops.items()),
    )


def _check(name: str, record: CheckRecord, causes: tuple[str, ...], covers: list[str]) -> Check:
    never = [1.0 / len(record.outcomes)] * len(record.outcomes)  # where no cause ever needs it
    otherwise = record.otherwise or never
    rows = np.array([record.given.get(cause, otherwise) for cause in causes])
    return Check(
        name,
        record.cost,
        tuple(record.outcomes),
        _summing_to_one(rows),
        _summing_to_one(np.array(otherwise)),
        record.repeatable,
        _place(record.behind, covers),
    )


def _remedy(name: str, record: RemedyRecord, causes: tuple[str, ...], covers: list[str]) -> Remedy:
    return Remedy(
        name,
        record.cost,
        np.array([record.clears.get(cause, 0.0) for cause in causes]),
        record.rerun_cost,
        record.repeatable,
        _place(record.behind, covers),
    )


def _place(behind: str | None, covers: list[str]) -> int:
    return NO_COVER if behind is None else covers.index(behind)


def _summing_to_one(rows: Floats) -> Floats:
    """The rows with what their digits leave of one shared out; exact rows stay as they are."""
    totals = rows.sum(axis=-1, keepdims=True)
    return np.where(np.abs(totals - 1.0) < 1e-12, rows, rows / totals)


def problem_text(problem: Problem) -> str:
    """Write a problem as the text of a file, which reads back as the same problem."""
    return msgspec.json.format(msgspec.json.encode(record_of(problem)), indent=1).decode() + "\n"


def record_of(problem: Problem) -> ProblemRecord:
    """The record of a problem; rows equal to ``otherwise`` are left out."""
    return ProblemRecord(
        title=problem.title,
        goal=problem.goal,
        causes=dict(zip(problem.causes, problem.prior.tolist(), strict=True)),
        single_fault=problem.single_fault,
        checks={c.name: _check_record(problem, c) for c in problem.checks},
        remedies={r.name: _remedy_record(problem, r) for r in problem.remedies},
        covers={c.name: CoverRecord(open=c.open, close=c.close) for c in problem.covers},
        stops={s.name: StopRecord(cost=s.cost) for s in problem.stops},
    )


def _check_record(problem: Problem, check: Check) -> CheckRecord:
    given = {
        cause: row.tolist()
        for cause, row in zip(problem.causes, check.given, strict=True)
        if not np.array_equal(row, check.otherwise)
    }
    return CheckRecord(
        cost=check.cost,
        outcomes=list(check.outcomes),
        given=given,
        otherwise=check.otherwise.tolist(),
        repeatable=check.repeatable,
        behind=_cover_name(problem, check.behind),
    )


def _remedy_record(problem: Problem, remedy: Remedy) -> RemedyRecord:
    chances = zip(problem.causes, remedy.clears.tolist(), strict=True)
    return RemedyRecord(
        cost=remedy.cost,
        clears={cause: chance for cause, chance in chances if chance > 0},
        rerun_cost=remedy.rerun_cost,
        repeatable=remedy.repeatable,
        behind=_cover_name(problem, remedy.behind),
    )


def _cover_name(problem: Problem, behind: int) -> str | None:
    return None if behind == NO_COVER else problem.covers[behind].name
