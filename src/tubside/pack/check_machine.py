"""The machine's numbers can be: known names, units of the right kind, values within limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tubside.errors import Problem
from tubside.pack.parameters import PARAMETERS, Kind, Limit, Parameter, kind_named
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack
from tubside.pack.stated import UnfitError, stated_move, stated_spread, stated_value
from tubside.strict_yaml import Path, or_one_of

Wrong = tuple[Path, str, str]
"""Path of what is wrong, what is wrong, how to mend it."""


def wrong_values(
    section: str, values: Mapping[str, str], known: Mapping[str, Parameter] | Mapping[str, Limit]
) -> Iterator[Wrong]:
    """Yield names of a section that are not known, and values that do not fit."""
    for name, text in values.items():
        if name not in known:
            kind = "parameter" if section == "machine" else "limit"
            what = f"'{section}' names an unknown {kind} '{name}'"
            yield (section, name), what, or_one_of(name, known)
            continue
        try:
            stated_value(text, known[name])
        except UnfitError as wrong:
            yield (section, name), f"'{section}.{name}': {wrong.what}", wrong.mend


def unfit_values(source: PackSource) -> Iterator[Problem]:
    """Yield values of the machine and its controller that cannot be."""
    pack = source.pack
    machine = {name: record.value for name, record in pack.machine.items()}
    controller = {name: record.value for name, record in pack.controller.items()}
    kind = _kind(pack)
    found = [*wrong_values("machine", machine, kind.parameters)]
    found += wrong_values("controller", controller, kind.limits)
    for (section, name), what, mend in found:
        yield source.document.problem((section, name, "value"), what, mend)


def _kind(pack: Pack) -> Kind:
    return kind_named([*pack.machine, *pack.controller])


def unfit_spreads(source: PackSource) -> Iterator[Problem]:
    """Yield spreads of the machine's values that cannot be."""
    for name, record in source.pack.machine.items():
        try:
            value = stated_value(record.value, PARAMETERS[name])
        except (KeyError, UnfitError):
            continue  # told with the values
        try:
            stated_spread(record.spread, value, PARAMETERS[name])
        except UnfitError as wrong:
            path = ("machine", name, "spread")
            yield source.document.problem(path, f"'machine.{name}': {wrong.what}", wrong.mend)


def missing_values(source: PackSource) -> Iterator[Problem]:
    """Yield what a machine lacks: every parameter, and every limit of the controller."""
    pack = source.pack
    if not pack.machine:
        return
    kind = _kind(pack)
    stated = (
        ("machine", pack.machine, kind.parameters),
        ("controller", pack.controller, kind.limits),
    )
    for section, given, known in stated:
        missing = [name for name in known if name not in given]
        if missing:
            what = f"'{section}' lacks {', '.join(missing)}"
            yield source.document.problem((section,), what, "add a value for each")


def unfit_moves(source: PackSource) -> Iterator[Problem]:
    """Yield moves of causes that name no parameter, or whose numbers do not fit."""
    known = _kind(source.pack).parameters if source.pack.machine else PARAMETERS
    for cause, record in source.pack.causes.items():
        for name, move in record.moves.items():
            path = ("causes", cause, "moves", name)
            if name not in known:
                what = f"'{cause}' moves an unknown parameter '{name}'"
                yield source.document.problem(path, what, or_one_of(name, known))
                continue
            try:
                stated_move(move, known[name])
            except UnfitError as wrong:
                yield source.document.problem(path, f"'{cause}.{name}': {wrong.what}", wrong.mend)


def moves_without_machine(source: PackSource) -> Iterator[Problem]:
    """Yield the first cause that moves what no machine of the pack has."""
    if source.pack.machine:
        return
    for cause, record in source.pack.causes.items():
        if record.moves:
            what = f"'{cause}' moves a machine that the pack does not describe"
            mend = "add the section 'machine'"
            yield source.document.problem(("causes", cause, "moves"), what, mend)
            return


def idle_exceptions(source: PackSource) -> Iterator[Problem]:
    """Yield conditions said to come without physics that need no such word."""
    for cause, record in source.pack.causes.items():
        for name in record.without_physics:
            path = ("causes", cause, "without_physics", name)
            if not record.moves:
                what = f"'{cause}' moves nothing, so its whole table comes without physics"
                yield source.document.problem(path, what, "remove this")
            elif name not in record.reported_as:
                what = f"'{cause}' is not reported as '{name}'"
                yield source.document.problem(path, what, or_one_of(name, record.reported_as))


ERRORS = (
    unfit_values,
    unfit_spreads,
    missing_values,
    unfit_moves,
    idle_exceptions,
)
WARNINGS = (moves_without_machine,)
