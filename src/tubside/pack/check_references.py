"""Every id that a record names is defined, and what is defined is named somewhere."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from tubside.errors import Problem
from tubside.pack.reading import PackSource
from tubside.pack.schema import Check, Finding, Pack, Remedy
from tubside.strict_yaml import Path, or_one_of


@dataclass(frozen=True, slots=True)
class Reference:
    """An id named at ``path``, and the ids of its kind that there are."""

    path: Path
    name: str
    kind: str
    known: Collection[str]


def unknown_ids(source: PackSource) -> Iterator[Problem]:
    """Yield ids that are named and not defined."""
    for each in references(source.pack):
        if each.name not in each.known:
            what = f"'{_record(each.path)}' names an unknown {each.kind} '{each.name}'"
            yield source.document.problem(each.path, what, or_one_of(each.name, each.known))


def own_ids(source: PackSource) -> Iterator[Problem]:
    """Yield records that name themselves where they must name another."""
    for section, field in (("causes", "leads_to"), ("conditions", "said_as")):
        for name, record in getattr(source.pack, section).items():
            if name in getattr(record, field):
                path = (section, name, field, name)
                yield source.document.problem(path, f"'{name}' names itself", "name another")


def empty_lists(source: PackSource) -> Iterator[Problem]:
    """Yield lists that must name something and are empty."""
    pack = source.pack
    lists: list[tuple[Path, Sequence[str]]] = []
    lists += [(("conditions", name, "stages"), c.stages) for name, c in pack.conditions.items()]
    lists += [(("causes", name, "cleared_by"), c.cleared_by) for name, c in pack.causes.items()]
    lists += [(("checks", name, "who"), check.who) for name, check in pack.checks.items()]
    lists += [(("remedies", name, "who"), remedy.who) for name, remedy in pack.remedies.items()]
    for path, names in lists:
        if not names:
            yield source.document.problem(
                path, f"'{_record(path)}' names none", "name at least one"
            )


def one_question(source: PackSource) -> Iterator[Problem]:
    """Yield checks that are not for exactly one finding, variant or reading."""
    for name, check in source.pack.checks.items():
        given = [x for x in (check.finding, check.variant, check.reading) if x is not None]
        if len(given) != 1:
            what = f"check '{name}' looks at {'two things' if given else 'nothing'}"
            mend = "give it a finding, a variant or a reading"
            yield source.document.problem(("checks", name), what, mend)


def unused_ids(source: PackSource) -> Iterator[Problem]:
    """Yield parts, cautions, covers, stages and sources that nothing names."""
    named = {(each.kind, each.name) for each in references(source.pack)}
    kinds = {"stages": "stage", "parts": "part", "cautions": "caution", "covers": "cover"}
    for section, kind in {**kinds, "sources": "source"}.items():
        for name in getattr(source.pack, section):
            if (kind, name) not in named:
                what = f"nothing names the {kind} '{name}'"
                yield source.document.problem((section, name), what, "name it or remove it")


def references(pack: Pack) -> Iterator[Reference]:
    """Yield every id that a record names, with the ids there are."""
    yield from _conditions(pack)
    yield from _causes(pack)
    yield from _findings(pack)
    yield from _steps(pack)
    yield from _context(pack)
    yield from _sources(pack)


def _named(
    path: Path, names: Collection[str], kind: str, known: Collection[str]
) -> Iterator[Reference]:
    """Yield one reference for each key of a mapping or item of a list."""
    is_list = not isinstance(names, Mapping)
    for position, name in enumerate(names):
        yield Reference((*path, position if is_list else name), name, kind, known)


def _conditions(pack: Pack) -> Iterator[Reference]:
    known = pack.conditions
    for name, healthy in pack.healthy.items():
        path: Path = ("healthy", name, "reported_as")
        yield from _named(path, healthy.reported_as, "condition", known)
    for name, check in pack.checks.items():
        stage = [] if check.at_stage is None else [check.at_stage]
        yield from _named(("checks", name, "at_stage"), stage, "stage", pack.stages)
    for name, condition in pack.conditions.items():
        path = ("conditions", name)
        yield from _named((*path, "stages"), condition.stages, "stage", pack.stages)
        yield from _named((*path, "said_as"), condition.said_as, "condition", known)


def _causes(pack: Pack) -> Iterator[Reference]:
    for name, cause in pack.causes.items():
        path: Path = ("causes", name)
        yield from _named((*path, "reported_as"), cause.reported_as, "condition", pack.conditions)
        yield from _named((*path, "leads_to"), cause.leads_to, "cause", pack.causes)
        yield from _variants((*path, "variants"), cause.variants, pack)


def _variants(path: Path, needs: Mapping[str, Sequence[str]], pack: Pack) -> Iterator[Reference]:
    yield from _named(path, needs, "variant", pack.variants)
    for axis, values in needs.items():
        if axis in pack.variants:
            known = pack.variants[axis].values
            yield from _named((*path, axis), values, f"value of '{axis}'", known)


def _findings(pack: Pack) -> Iterator[Reference]:
    for name, finding in pack.findings.items():
        path: Path = ("findings", name)
        yield from _named((*path, "causes"), finding.causes, "cause", pack.causes)
        yield from _named((*path, "dominance"), finding.dominance, "cause", pack.causes)
        yield from _named((*path, "danger"), finding.danger, "outcome", finding.outcomes)
        yield from _row_sources((*path, "sources"), finding, pack)


def _row_sources(path: Path, finding: Finding, pack: Pack) -> Iterator[Reference]:
    yield from _named(path, finding.sources, "row", ["healthy", *finding.causes])
    for row, mark in finding.sources.items():
        yield Reference((*path, row), mark, "source", pack.sources)


def _steps(pack: Pack) -> Iterator[Reference]:
    for name, check in pack.checks.items():
        path: Path = ("checks", name)
        if check.finding is not None:
            yield Reference((*path, "finding"), check.finding, "finding", pack.findings)
        if check.reading is not None:
            spoilers = check.reading.spoiled_by
            yield from _named((*path, "reading", "spoiled_by"), spoilers, "cause", pack.causes)
        if check.variant is not None:
            yield Reference((*path, "variant"), check.variant, "variant", pack.variants)
        yield from _step(path, check, pack)
    for name, remedy in pack.remedies.items():
        path = ("remedies", name)
        yield from _named((*path, "clears"), remedy.clears, "cause", pack.causes)
        yield from _named((*path, "parts"), remedy.parts, "part", pack.parts)
        yield from _step(path, remedy, pack)


def _step(path: Path, step: Check | Remedy, pack: Pack) -> Iterator[Reference]:
    yield from _named((*path, "cautions"), step.cautions, "caution", pack.cautions)
    yield from _variants((*path, "needs"), step.needs, pack)
    if step.behind is not None:
        yield Reference((*path, "behind"), step.behind, "cover", pack.covers)


def _context(pack: Pack) -> Iterator[Reference]:
    for name, flag in pack.context.items():
        path: Path = ("context", name)
        yield Reference((*path, "check"), flag.check, "check", pack.checks)
        if flag.check in pack.checks:
            known = outcomes(pack, pack.checks[flag.check])
            yield Reference((*path, "if_true"), flag.if_true, "outcome", known)
            yield Reference((*path, "if_false"), flag.if_false, "outcome", known)


def outcomes(pack: Pack, check: Check) -> list[str]:
    """Return what a check can answer; empty where what it looks at is not defined."""
    if check.finding in pack.findings:
        return list(pack.findings[check.finding].outcomes)
    return list(pack.variants[check.variant].values) if check.variant in pack.variants else []


def _sources(pack: Pack) -> Iterator[Reference]:
    for path, given in stated_sources(pack):
        if isinstance(given, str):
            yield Reference(path, given, "source", pack.sources)
        else:
            for field, mark in given.items():
                yield Reference((*path, field), mark, "source", pack.sources)


def stated_sources(pack: Pack) -> Iterator[tuple[Path, str | dict[str, str]]]:
    """Yield every ``source`` of a record, with its path."""
    yield ("second_fault_source",), pack.second_fault_source
    yield ("age_mix_source",), pack.age_mix_source
    yield ("costs", "source"), pack.costs.source
    yield ("words", "source"), pack.words.source
    sections: tuple[str, ...]
    sections = ("healthy", "variants", "conditions", "causes", "findings", "checks")
    sections += ("remedies", "stops", "parts", "covers", "machine", "controller")
    for section in sections:
        for name, record in getattr(pack, section).items():
            yield (section, name, "source"), record.source


def _record(path: Path) -> str:
    return ".".join(str(part) for part in chain(path[:3]))


ERRORS = (unknown_ids, own_ids, empty_lists, one_question)
WARNINGS = (unused_ids,)
