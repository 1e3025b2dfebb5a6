"""Every number says where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, cast

import msgspec

from tubside.errors import Problem
from tubside.pack.check_references import stated_sources
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Path, or_one_of

REST = "rest"


def unknown_fields(source: PackSource) -> Iterator[Problem]:
    """Yield source mappings that name a field which their record does not have."""
    for path, given in stated_sources(source.pack):
        known = [field for field in _fields(source, path) if field != "source"]
        for field in given if isinstance(given, Mapping) else ():
            if field != REST and field not in known:
                what = f"the source names no field of its record: '{field}'"
                yield source.document.problem((*path, field), what, or_one_of(field, known))


def missing_rest(source: PackSource) -> Iterator[Problem]:
    """Yield source mappings that leave the other fields without a source."""
    for path, given in stated_sources(source.pack):
        if isinstance(given, Mapping) and REST not in given:
            what = "the source says nothing about the other fields"
            yield source.document.problem(path, what, "add 'rest: <mark>'")


def empty_marks(source: PackSource) -> Iterator[Problem]:
    """Yield sources whose text tells nothing."""
    for name, mark in source.pack.sources.items():
        if len(mark.text.strip()) < 3:
            path = ("sources", name, "text")
            yield source.document.problem(
                path, f"the source '{name}' tells nothing", "write it out"
            )


def _fields(source: PackSource, path: Path) -> list[str]:
    """Return the fields of the record whose source stands at ``path``."""
    record: object = source.pack
    for part in path[:-1]:
        record = record[part] if isinstance(record, dict) else getattr(record, str(part))
    kind = cast("type[msgspec.Struct]", type(cast("Any", record)))
    return [field.name for field in msgspec.structs.fields(kind)]


ERRORS = (unknown_fields, missing_rest, empty_marks)
WARNINGS = ()
