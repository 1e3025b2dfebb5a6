"""Ids are written in one way, and the pack is called what its folder is called."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path as FilePath

from tubside.errors import Problem
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Path, nearest

KEBAB = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
SNAKE = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")

SNAKE_SECTIONS = ("conditions", "context")
KEBAB_SECTIONS = (
    *("stages", "healthy", "variants", "sources", "causes", "findings", "checks"),
    *("remedies", "stops", "parts", "cautions", "covers"),
)


def misspelt_ids(source: PackSource) -> Iterator[Problem]:
    """Yield ids that are not kebab-case, conditions and context that are not snake_case."""
    for path in _ids(source):
        name = str(path[-1])
        snake = path[0] in SNAKE_SECTIONS
        if not (SNAKE if snake else KEBAB).fullmatch(name):
            style, joint = ("snake_case", "_") if snake else ("kebab-case", "-")
            mend = f"write it as '{_in_style(name, joint)}'"
            yield source.document.problem(path, f"the id '{name}' is not {style}", mend)


def healthy_entries(source: PackSource) -> Iterator[Problem]:
    """Yield what ``healthy`` has too much or too little: it has two known entries."""
    for name in source.pack.healthy:
        if name not in HEALTHY_IDS:
            close = nearest(name, HEALTHY_IDS)
            mend = f"did you mean '{close}'?" if close else f"use {' and '.join(HEALTHY_IDS)}"
            what = f"'healthy' has an unknown entry '{name}'"
            yield source.document.problem(("healthy", name), what, mend)
    for name in HEALTHY_IDS:
        if name not in source.pack.healthy:
            what = f"'healthy' lacks '{name}'"
            yield source.document.problem(("healthy",), what, f"add '{name}: ...'")


def empty_sections(source: PackSource) -> Iterator[Problem]:
    """Yield sections without which there is nothing to reason with."""
    for section in ("stages", "conditions", "causes", "findings", "checks", "remedies"):
        if not getattr(source.pack, section):
            what = f"the section '{section}' is empty"
            yield source.document.problem((section,), what, "write at least one")


def other_folder(source: PackSource) -> Iterator[Problem]:
    """Yield a family that is not called as its folder is."""
    place = source.document.place(("family",))
    folder = FilePath(place.file).resolve().parent.name
    if source.pack.family != folder:
        what = f"the family is '{source.pack.family}', but its folder '{folder}'"
        yield place.problem(what, "give both one name, so that job files can name it")


def _ids(source: PackSource) -> Iterator[Path]:
    pack = source.pack
    for section in (*KEBAB_SECTIONS, *SNAKE_SECTIONS):
        yield from ((section, name) for name in getattr(pack, section))
    for name, variant in pack.variants.items():
        yield from (("variants", name, "values", value) for value in variant.values)
    for name, finding in pack.findings.items():
        field = "graded" if finding.graded else "kinds"
        yield from (("findings", name, field, outcome) for outcome in finding.outcomes)


def _in_style(name: str, joint: str) -> str:
    return joint.join(re.findall("[a-z0-9]+", name.lower())) or "some-name"


ERRORS = (misspelt_ids, healthy_entries, empty_sections)
WARNINGS = (other_folder,)
