"""What must hold in a problem's file beyond its shape; each check yields what is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations

from tubside.diagnosis.solve.problem_schema import CheckRecord, ProblemRecord, Row
from tubside.strict_yaml import Path, or_one_of

DIGITS = 1e-5
"""How far chances that sum to one may be off, from being written with few digits."""

MOST_CAUSES, MOST_OUTCOMES = 500, 50


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing wrong at a path of the file."""

    path: Path
    what: str
    mend: str


def wrongs(record: ProblemRecord) -> Iterator[Wrong]:
    """Everything that cannot be so; then whether the job could be left with nothing to do."""
    found = [
        *_causes(record),
        *_names(record),
        *_covers(record),
        *_remedies(record),
        *(wrong for name in record.checks for wrong in _check(record, name)),
    ]
    yield from found
    if not found and not record.stops:
        yield from _never_ends(record)


def _causes(record: ProblemRecord) -> Iterator[Wrong]:
    total = sum(record.causes.values())
    if not record.causes:
        yield Wrong(("causes",), "'causes' is empty", "write one cause at least")
    elif len(record.causes) > MOST_CAUSES:
        what = f"'causes' holds {len(record.causes)} causes"
        yield Wrong(("causes",), what, f"write at most {MOST_CAUSES}; join the rarest into one")
    elif record.single_fault and abs(total - 1.0) > DIGITS:
        mend = 'make them sum to 1, or write "single_fault": false if they are independent'
        yield Wrong(("causes",), f"'causes' sum to {total:.9g}", mend)
    elif not total:
        yield Wrong(("causes",), "no cause in 'causes' can be there", "give one a chance above 0")


def _names(record: ProblemRecord) -> Iterator[Wrong]:
    """The plan speaks of steps by their names, so each needs its own."""
    first: dict[str, str] = {}
    for kind, names in (
        ("checks", record.checks),
        ("remedies", record.remedies),
        ("stops", record.stops),
    ):
        for name in names:
            if name in first:
                what = f"'{kind}.{name}' has the name of '{first[name]}.{name}'"
                yield Wrong((kind, name), what, "give each step a name of its own")
            first.setdefault(name, kind)


def _covers(record: ProblemRecord) -> Iterator[Wrong]:
    behind = [(("checks", n, "behind"), r.behind) for n, r in record.checks.items()]
    behind += [(("remedies", n, "behind"), r.behind) for n, r in record.remedies.items()]
    for path, cover in behind:
        if cover is not None and cover not in record.covers:
            what = f"'{'.'.join(path)}' is the unknown cover '{cover}'"
            yield Wrong(path, what, or_one_of(cover, record.covers))


def _remedies(record: ProblemRecord) -> Iterator[Wrong]:
    if record.goal == "identified" and record.remedies:
        what = "'remedies' stand in a problem whose 'goal' is identified"
        yield Wrong(("remedies",), what, 'remove them, or write "goal": "working"')
    for name, remedy in record.remedies.items():
        yield from _unknown_causes(record, ("remedies", name, "clears"), remedy.clears)


def _unknown_causes(record: ProblemRecord, path: Path, named: object) -> Iterator[Wrong]:
    assert isinstance(named, dict)
    for cause in named:
        if cause not in record.causes:
            what = f"'{'.'.join(map(str, path))}' names the unknown cause '{cause}'"
            yield Wrong((*path, cause), what, or_one_of(cause, record.causes))


def _check(record: ProblemRecord, name: str) -> Iterator[Wrong]:
    check, path = record.checks[name], ("checks", name)
    field = f"'checks.{name}.outcomes'"
    if not 1 <= len(check.outcomes) <= MOST_OUTCOMES:
        what = f"{field} holds {len(check.outcomes)} outcomes"
        yield Wrong((*path, "outcomes"), what, f"name 1 to {MOST_OUTCOMES} of them, worst first")
    for place, outcome in enumerate(check.outcomes):
        if outcome in check.outcomes[:place]:
            what = f"{field} holds '{outcome}' twice"
            yield Wrong((*path, "outcomes", place), what, "give each outcome a name of its own")
    yield from _unknown_causes(record, (*path, "given"), check.given)
    for cause, row in check.given.items():
        yield from _row(check, (*path, "given", cause), row)
    if check.otherwise is not None:
        yield from _row(check, (*path, "otherwise"), check.otherwise)
    elif not record.single_fault or record.causes.keys() - check.given.keys():
        what = f"'checks.{name}' lacks 'otherwise'"
        yield Wrong(path, what, "add the chances of its outcomes for causes that it does not list")


def _row(check: CheckRecord, path: Path, row: Row) -> Iterator[Wrong]:
    field, total = ".".join(map(str, path)), sum(row)
    if len(row) != len(check.outcomes):
        what = f"'{field}' has {len(row)} chances for {len(check.outcomes)} outcomes"
        yield Wrong(path, what, "write one chance for each outcome")
    elif row and abs(total - 1.0) > DIGITS:
        yield Wrong(path, f"'{field}' sums to {total:.9g}", "make it sum to 1")


def _never_ends(record: ProblemRecord) -> Iterator[Wrong]:
    """Without a stop, a fault that may outlast every step leaves nothing to do."""
    possible = [cause for cause, chance in record.causes.items() if chance > 0]
    if record.goal == "working":
        for cause in possible:
            if not any(_surely_clears(record, name, cause) for name in record.remedies):
                what = f"'causes.{cause}' may outlast every remedy, and there is no stop"
                yield Wrong(("causes", cause), what, "add a stop with what it then costs")
    elif record.single_fault:
        for there, other in permutations(possible, 2):
            if not any(_surely_excludes(c, there, other) for c in record.checks.values()):
                what = f"no check surely tells '{there}' from '{other}', and there is no stop"
                yield Wrong(("causes", there), what, "add a stop with what it then costs")


def _surely_clears(record: ProblemRecord, name: str, cause: str) -> bool:
    remedy = record.remedies[name]
    chance = remedy.clears.get(cause, 0.0)
    return chance == 1.0 or (remedy.repeatable and chance > 0)


def _surely_excludes(check: CheckRecord, there: str, other: str) -> bool:
    """Whether the check, done often enough, excludes ``other`` whenever ``there`` is the cause."""
    row = check.given.get(there, check.otherwise or [])
    against = check.given.get(other, check.otherwise or [])
    pairs = [(p > 0, q > 0) for p, q in zip(row, against, strict=True)]
    can_both = any(p and q for p, q in pairs)
    return not can_both or (check.repeatable and any(p and not q for p, q in pairs))
