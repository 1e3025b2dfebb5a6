"""What no schema sees: whether a pack can be true, and can be used safely.

Each rule is a function of the pack as written that yields problems with their
lines. Errors must be mended before the pack is used; warnings may be meant.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tubside.errors import Problem
from tubside.pack import (
    check_clearing,
    check_customer,
    check_machine,
    check_names,
    check_numbers,
    check_reading,
    check_references,
    check_rows,
    check_sources,
    check_telling,
)
from tubside.pack.reading import PackSource

Rule = Callable[[PackSource], Iterator[Problem]]

ERRORS: tuple[Rule, ...] = (
    *check_names.ERRORS,
    *check_references.ERRORS,
    *check_sources.ERRORS,
    *check_numbers.ERRORS,
    *check_reading.ERRORS,
    *check_rows.ERRORS,
    *check_telling.ERRORS,
    *check_clearing.ERRORS,
    *check_customer.ERRORS,
    *check_machine.ERRORS,
)
WARNINGS: tuple[Rule, ...] = (
    *check_names.WARNINGS,
    *check_references.WARNINGS,
    *check_sources.WARNINGS,
    *check_numbers.WARNINGS,
    *check_rows.WARNINGS,
    *check_telling.WARNINGS,
    *check_clearing.WARNINGS,
    *check_customer.WARNINGS,
    *check_machine.WARNINGS,
)


@dataclass(frozen=True, slots=True)
class PackReport:
    """Everything found in a pack, each part in order of file and line."""

    errors: tuple[Problem, ...]
    warnings: tuple[Problem, ...]


def check_pack(source: PackSource) -> PackReport:
    """Apply every rule to the pack."""
    return PackReport(_applied(ERRORS, source), _applied(WARNINGS, source))


def _applied(rules: tuple[Rule, ...], source: PackSource) -> tuple[Problem, ...]:
    return tuple(sorted({problem for rule in rules for problem in rule(source)}))
