"""The rows of findings fit their outcomes and can be combined."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from tubside.errors import Problem
from tubside.pack.fault_model import Floats
from tubside.pack.reading import PackSource
from tubside.pack.schema import Finding
from tubside.strict_yaml import Path

CUT_TOLERANCE = 0.01
TINY = 1e-12


def graded_or_kinds(source: PackSource) -> Iterator[Problem]:
    """Yield findings that are not exactly one of graded and kinds, with two outcomes or more."""
    for name, finding in source.pack.findings.items():
        if bool(finding.graded) == bool(finding.kinds):
            both = "both 'graded' and 'kinds'" if finding.graded else "neither 'graded' nor 'kinds'"
            mend = "give it 'graded' (worst to best) or 'kinds' (no order)"
            yield source.document.problem(("findings", name), f"'{name}' has {both}", mend)
        elif len(finding.outcomes) < 2:
            mend = "name at least two"
            yield source.document.problem(("findings", name), f"'{name}' has one outcome", mend)


def wrong_lengths(source: PackSource) -> Iterator[Problem]:
    """Yield rows that have not one number for each outcome."""
    for name, finding in source.pack.findings.items():
        for path, row in _rows(finding):
            if len(row) != len(finding.outcomes):
                what = f"the row '{path[-1]}' of '{name}' has {len(row)} numbers"
                mend = f"write {len(finding.outcomes)}, one for each outcome"
                yield source.document.problem(("findings", name, *path), what, mend)


def wrong_dominance(source: PackSource) -> Iterator[Problem]:
    """Yield kinds whose dominance does not list each of their causes once, and graded with one."""
    for name, finding in source.pack.findings.items():
        path = ("findings", name, "dominance")
        if finding.kinds and sorted(finding.dominance) != sorted(finding.causes):
            mend = f"list each once, the one that decides first in front: {list(finding.causes)}"
            what = f"the dominance of '{name}' does not list its causes"
            yield source.document.problem(path, what, mend)
        elif finding.graded and finding.dominance:
            what = f"'{name}' is graded and needs no dominance"
            yield source.document.problem(path, what, "remove it, or make it 'kinds'")


def certain_outcomes(source: PackSource) -> Iterator[Problem]:
    """Yield rows with a chance of exactly 0 or 1: no later fact could correct them."""
    for name, finding in source.pack.findings.items():
        for path, row in _rows(finding):
            if 0.0 in row or 1.0 in row:
                what = f"the row '{path[-1]}' of '{name}' holds a chance of exactly 0 or 1"
                mend = "leave a little, such as .002"
                yield source.document.problem(("findings", name, *path), what, mend)


def turned_grades(source: PackSource) -> Iterator[Problem]:
    """Yield graded findings of which a healthy machine mostly shows the first, worst outcome."""
    for name, finding in source.pack.findings.items():
        if finding.graded and _fits(finding) and finding.healthy[0] > finding.healthy[-1]:
            what = f"a healthy machine shows the worst outcome of '{name}' most often"
            mend = "order the outcomes from worst to best, and the rows with them"
            yield source.document.problem(("findings", name, "graded"), what, mend)


def cut_pairs(source: PackSource) -> Iterator[Problem]:
    """Yield graded findings where two causes together leave the range of probabilities.

    P(at least as good as o | i, j) = T_i T_j / T_healthy may pass one, or rise with
    o, where rows speak for health; belief then cuts it. Told for the worst pair.
    """
    for name, finding in source.pack.findings.items():
        if not finding.graded or not _fits(finding) or len(finding.causes) < 2:
            continue
        cut, pair = _worst_pair(finding)
        if cut > CUT_TOLERANCE:
            what = f"'{name}': {pair[0]} and {pair[1]} together give no probabilities"
            mend = f"let one of the two rows speak less for health ({cut:.2g} is cut off)"
            yield source.document.problem(("findings", name, "causes", pair[1]), what, mend)


def _rows(finding: Finding) -> Iterator[tuple[Path, list[float]]]:
    """Yield every row of a finding with its path inside the finding."""
    yield ("healthy",), finding.healthy
    for cause, row in finding.causes.items():
        yield ("causes", cause), row


def _worst_pair(finding: Finding) -> tuple[float, tuple[str, str]]:
    healthy = _at_least(finding.healthy)
    tails = {cause: _at_least(row) for cause, row in finding.causes.items()}
    return max(
        (_cut(tails[i] * tails[j] / healthy), (i, j)) for i, j in combinations(finding.causes, 2)
    )


def _at_least(row: list[float]) -> Floats:
    """P(at least as good as o) for each o."""
    return np.asarray(np.maximum(np.cumsum(row[::-1])[::-1], TINY))


def _cut(tail: Floats) -> float:
    """How much of a combined tail is cut to make it fall from one."""
    kept = np.minimum.accumulate(np.minimum(tail, 1.0))
    return float(np.max(tail - kept))


def _fits(finding: Finding) -> bool:
    rows = [finding.healthy, *finding.causes.values()]
    return all(len(row) == len(finding.outcomes) and min(row, default=-1.0) >= 0 for row in rows)


ERRORS = (graded_or_kinds, wrong_lengths, wrong_dominance)
WARNINGS = (certain_outcomes, turned_grades, cut_pairs)
