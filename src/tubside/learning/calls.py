"""Of which causes calls come and how they are reported: learned from a family's counts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from tubside.learning.mixing import mixed
from tubside.learning.pooling import Passed, passed_down
from tubside.learning.proportions import Floats
from tubside.learning.proposal import Whose
from tubside.learning.tables import Tables, seen_row
from tubside.learning.tallies import Pair, Place, Tally, is_own
from tubside.learning.worth import Worth


@dataclass(frozen=True, slots=True)
class Calls:
    """Shares as learned, and how large a sample each is worth."""

    passed: Passed
    weights: Floats  # (m,)
    size: Floats  # (m,)
    met: Floats  # (m,) jobs, those in doubt shared out
    reported: Floats  # (m, c)
    reported_size: Floats  # (m,)
    reported_met: Floats  # (m,)


@dataclass(frozen=True, slots=True)
class _Doubts:
    """Jobs in doubt: P(told | origin), how often, and the complaint (-1: not known)."""

    likely: Floats  # (u, m)
    often: Floats  # (u,)
    complaint: Floats  # (u,)


def learned_calls(tables: Tables, tally: Tally, whose: Whose, worth: Worth) -> Calls:
    """Weights of this shop and model, and the rows of ``reported_as`` of the family.

    Jobs in doubt are shared out by how likely what was told is under the pack.
    """
    cells = {place: cells_of(tables, called) for place, called in tally.called.items()}
    doubts = {place: _doubts(tables, unsure) for place, unsure in tally.unsure.items()}
    passed = _passed(tables, cells, whose, worth)
    own = [place for place in {**cells, **doubts} if is_own(*place, whose)]
    certain = sum((cells[place] for place in own if place in cells), _nothing(tables))
    mine = _joined(tables, [doubts[place] for place in own if place in doubts])
    found = mixed(
        (passed.worth * passed.said)[None], certain.sum(axis=1)[None], mine.likely, mine.often[None]
    )
    everywhere = _joined(tables, list(doubts.values()))
    sure = sum(cells.values(), _nothing(tables))[:, :-1]
    met, pure = _shared_out(found.mean[0], everywhere, sure)
    prior = worth.reported * tables.reported
    reported = (prior + met) / (prior + met).sum(axis=1, keepdims=True)
    return Calls(
        passed=passed,
        weights=found.mean[0],
        size=found.size[0],
        met=certain.sum(axis=1) + mine.often @ found.source[0],
        reported=reported,
        reported_size=worth.reported + pure,
        reported_met=pure,
    )


def cells_of(tables: Tables, called: Mapping[Pair, float]) -> Floats:
    """Jobs by origin and complaint; the last column holds complaints not known: (m, c + 1)."""
    found = _nothing(tables)
    origins = {name: i for i, name in enumerate(tables.origins)}
    conditions = {name: i for i, name in enumerate(tables.conditions)}
    for (complaint, origin), jobs in called.items():
        if origin in origins:
            found[origins[origin], conditions.get(complaint, -1)] += jobs
    return np.maximum(found, 0.0)


def told_chances(tables: Tables) -> Callable[[str, str, str], Floats | None]:
    """P(an observer tells an outcome by a check | origin alone): (m,); None if it says nothing."""
    kept: dict[tuple[str, str, str], Floats | None] = {}

    def chances(check: str, outcome: str, observer: str) -> Floats | None:
        key = (check, outcome, observer)
        if key not in kept:
            kept[key] = _told_chance(tables, *key)
        return kept[key]

    return chances


def _told_chance(tables: Tables, check: str, outcome: str, observer: str) -> Floats | None:
    if check not in tables.said or observer not in tables.said[check][1]:
        return None
    finding, said = tables.said[check]
    looked = tables.findings[finding]
    if outcome not in looked.outcomes:
        return None
    tells = said[observer][:, looked.outcomes.index(outcome)]
    result = np.full(len(tables.origins), float(looked.healthy @ tells))
    for cause in looked.causes:
        result[tables.origin(cause)] = seen_row(looked, cause) @ tells
    return result


def _doubts(tables: Tables, unsure: Mapping[Pair, float]) -> _Doubts:
    chances = told_chances(tables)
    conditions = {name: i for i, name in enumerate(tables.conditions)}
    rows, complaints = [], []
    for complaint, told in unsure:
        at = conditions.get(complaint, -1)
        row = np.ones(len(tables.origins)) if at < 0 else tables.reported[:, at].copy()
        for part in filter(None, told.split(";")):
            check, _, said = part.partition("=")
            outcome, _, by = said.partition("@")
            likely = chances(check, outcome, by)
            row = row if likely is None else row * likely
        rows.append(row)
        complaints.append(at)
    likely = np.array(rows).reshape(-1, len(tables.origins))
    return _Doubts(likely, np.array(list(unsure.values())), np.array(complaints, dtype=float))


def _joined(tables: Tables, parts: list[_Doubts]) -> _Doubts:
    if not parts:
        return _Doubts(np.empty((0, len(tables.origins))), np.empty(0), np.empty(0))
    return _Doubts(
        np.concatenate([part.likely for part in parts]),
        np.concatenate([part.often for part in parts]),
        np.concatenate([part.complaint for part in parts]),
    )


def _passed(tables: Tables, cells: dict[Place, Floats], whose: Whose, worth: Worth) -> Passed:
    """What family, other models and other shops say before this shop's own jobs."""
    size = len(tables.origins)
    passed = Passed(tables.weights, worth.weights, 0.0, told=False)
    if whose.model:
        others = _by(cells, 1, lambda place: place[1] not in {whose.model, ""}, size)
        passed = passed_down(tables.weights, worth.weights, others)
    if whose.shop:
        others = _by(
            cells,
            0,
            lambda place: place[0] != whose.shop and whose.model in {"", place[1]},
            size,
        )
        if len(others):
            passed = passed_down(passed.said, passed.worth, others)
    return passed


def _by(
    cells: dict[Place, Floats], part: int, counts: Callable[[Place], bool], size: int
) -> Floats:
    """Jobs by origin of each other shop (part 0) or model (part 1): (g, m)."""
    groups: dict[str, Floats] = {}
    for place, found in cells.items():
        if counts(place):
            groups[place[part]] = groups.get(place[part], np.zeros(size)) + found.sum(axis=1)
    return np.array(list(groups.values())).reshape(-1, size)


def _shared_out(weights: Floats, doubts: _Doubts, sure: Floats) -> tuple[Floats, Floats]:
    """Jobs by origin and complaint with those in doubt; and how many each row is worth."""
    joint = doubts.likely * weights
    share = joint / np.maximum(joint.sum(axis=1, keepdims=True), 1e-300)
    met, pure = sure.copy(), sure.sum(axis=1)
    known = doubts.complaint >= 0
    at = doubts.complaint[known].astype(np.int64)
    often = doubts.often[known, None]
    np.add.at(met.T, at, often * share[known])
    return met, pure + (often * share[known] ** 2).sum(axis=0)


def _nothing(tables: Tables) -> Floats:
    return np.zeros((len(tables.origins), len(tables.conditions) + 1))
