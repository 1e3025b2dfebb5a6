"""Causes can be told apart, conditions are raised, findings are looked at."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from tubside.errors import Problem
from tubside.pack.check_clearing import cleared_alike
from tubside.pack.fault_model import Floats
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack

ALIKE = 0.05


def not_told_apart(source: PackSource) -> Iterator[Problem]:
    """Yield pairs of causes that nothing tells apart and that are not cleared alike."""
    names = list(source.pack.causes)
    distance = distances(source.pack)
    for i, j in combinations(range(len(names)), 2):
        if distance[i, j] < ALIKE and not cleared_alike(source.pack, names[i], names[j]):
            what = (
                f"nothing tells '{names[j]}' from '{names[i]}' (largest gap {distance[i, j]:.3f})"
            )
            mend = "add a check that does, or make them one cause"
            yield source.document.problem(("causes", names[j]), what, mend)


def distances(pack: Pack) -> Floats:
    """Return the largest total variation between causes over all they can show: (n, n).

    Rows of findings that some check looks at, how calls are reported, and variants
    that some check settles.
    """
    looked_at = {check.finding for check in pack.checks.values()}
    tables = [_reports(pack)]
    for name, finding in pack.findings.items():
        if name in looked_at:
            tables.append(_padded([finding.causes.get(c, finding.healthy) for c in pack.causes]))
    if not pack.causes:
        return np.zeros((0, 0))
    gaps = [np.abs(table[:, None] - table[None]).sum(axis=2) / 2.0 for table in tables]
    return np.asarray(np.maximum(np.max(gaps, axis=0), _apart_by_variant(pack)))


def two_axes(source: PackSource) -> Iterator[Problem]:
    """Yield causes that depend on more than one variant."""
    for name, cause in source.pack.causes.items():
        if len(cause.variants) > 1:
            what = f"cause '{name}' depends on {len(cause.variants)} variants"
            mend = "keep one, or split the cause"
            yield source.document.problem(("causes", name, "variants"), what, mend)


def lead_across_axes(source: PackSource) -> Iterator[Problem]:
    """Yield causes that lead to one which depends on another variant."""
    causes = source.pack.causes
    for name, cause in causes.items():
        for follower in cause.leads_to:
            if follower not in causes or not cause.variants:
                continue
            if causes[follower].variants and set(causes[follower].variants) != set(cause.variants):
                what = f"'{name}' leads to '{follower}', which depends on another variant"
                path = ("causes", name, "leads_to", follower)
                yield source.document.problem(path, what, "remove it: such pairs cannot be solved")


def lead_twice(source: PackSource) -> Iterator[Problem]:
    """Yield pairs of causes that lead to each other: their odds would be raised twice."""
    causes = source.pack.causes
    for one, two in combinations(causes, 2):
        if two in causes[one].leads_to and one in causes[two].leads_to:
            what = f"'{one}' and '{two}' lead to each other"
            yield source.document.problem(
                ("causes", two, "leads_to", one), what, "keep one of the two"
            )


def never_raised(source: PackSource) -> Iterator[Problem]:
    """Yield conditions that no cause is reported as."""
    raised = {
        condition
        for cause in source.pack.causes.values()
        for condition, share in cause.reported_as.items()
        if share > 0.0
    }
    for name in source.pack.conditions:
        if name not in raised:
            what = f"no cause raises the condition '{name}'"
            mend = "add it to a cause's reported_as, or remove it"
            yield source.document.problem(("conditions", name), what, mend)


def never_looked_at(source: PackSource) -> Iterator[Problem]:
    """Yield findings that no check looks at."""
    looked_at = {check.finding for check in source.pack.checks.values()}
    for name in source.pack.findings:
        if name not in looked_at:
            what = f"no check looks at the finding '{name}'"
            yield source.document.problem(("findings", name), what, "add a check or remove it")


def never_asked(source: PackSource) -> Iterator[Problem]:
    """Yield variants that no check settles."""
    asked = {check.variant for check in source.pack.checks.values()}
    for name in source.pack.variants:
        if name not in asked:
            what = f"no check settles the variant '{name}'"
            yield source.document.problem(("variants", name), what, "add a check that asks")


def alters_nothing(source: PackSource) -> Iterator[Problem]:
    """Yield findings that no cause alters: looking at them tells nothing."""
    for name, finding in source.pack.findings.items():
        if not finding.causes:
            what = f"no cause alters the finding '{name}'"
            yield source.document.problem(("findings", name), what, "add rows or remove it")


def _reports(pack: Pack) -> Floats:
    rows = [
        [c.reported_as.get(name, 0.0) for name in pack.conditions] for c in pack.causes.values()
    ]
    return np.array(rows).reshape(len(pack.causes), len(pack.conditions))


def _padded(rows: list[list[float]]) -> Floats:
    """Return rows as a table, also while some of them have a wrong length."""
    width = max(map(len, rows), default=0)
    return np.array([[*row, *[0.0] * (width - len(row))] for row in rows])


def _apart_by_variant(pack: Pack) -> Floats:
    """1 where two causes never live on the same construction and a check can settle it."""
    asked = {check.variant for check in pack.checks.values()}
    apart = np.zeros((len(pack.causes), len(pack.causes)))
    causes = list(pack.causes.values())
    for i, j in combinations(range(len(causes)), 2):
        for axis in causes[i].variants.keys() & causes[j].variants.keys() & asked:
            if not set(causes[i].variants[axis]) & set(causes[j].variants[axis]):
                apart[i, j] = apart[j, i] = 1.0
    return apart


ERRORS = (not_told_apart, two_axes, lead_across_axes, lead_twice, never_raised, never_looked_at)
WARNINGS = (never_asked, alters_nothing)
