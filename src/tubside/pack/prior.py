r"""The prior over sets of causes, given that somebody rang.

.. math::  P(S) = (1 - w_0)\, m(S) / (Z - 1), \qquad
           m(S) = \prod_{i \in S} o_i \prod_{(i,j) \subset S} b_{ij}
                  \cdot \prod_{axes} \sum_v s_v \prod_{i \in S} [v \in V_i] / s(V_i)

for non-empty S, with odds :math:`o_i`, a factor :math:`b_{ij}` where one cause
leads to another, and shares :math:`s_v` of the values of a variant axis on which
a cause may depend. Z is the sum of m over *all* subsets. It factorises over
groups of causes joined by an axis or a lead, so it is exact without listing
sets. A set's main cause is i with chance :math:`o_i / \sum_S o`; the odds are
solved so that the main-cause shares are the pack's weights and P(two or more
causes) is the pack's share of second faults.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np

from tubside.pack.fault_model import Axis, Bools, Floats, Ints, Prior

LOG_T_STEP = 0.12


@dataclass(frozen=True, slots=True)
class Group:
    """Causes that depend on one another: an axis (or -1) and lead-connected parts."""

    axis: int
    parts: tuple[tuple[int, ...], ...]

    @property
    def members(self) -> list[int]:
        """All causes of the group."""
        return [i for part in self.parts for i in part]


@dataclass(frozen=True, slots=True)
class Structure:
    """Causes that stand alone, and groups of causes that do not."""

    free: Ints
    groups: tuple[Group, ...]


def structure(prior: Prior) -> Structure:
    """Split the causes into free ones and groups joined by an axis or a lead."""
    label = np.arange(len(prior.odds))
    for i, j, _ in prior.leads:
        label[label == label[j]] = label[i]
    parts = [tuple(int(i) for i in np.flatnonzero(label == name)) for name in np.unique(label)]
    by_axis: dict[int, list[tuple[int, ...]]] = {}
    for part in parts:
        by_axis.setdefault(_axis_of(prior, part), []).append(part)
    alone = by_axis.pop(-1, [])
    groups = [Group(-1, (part,)) for part in alone if len(part) > 1]
    groups += [Group(axis, tuple(members)) for axis, members in sorted(by_axis.items())]
    free = np.array([part[0] for part in alone if len(part) == 1], dtype=np.int64)
    return Structure(free, tuple(groups))


def total_mass(prior: Prior, x: Floats, parts: Structure | None = None) -> Floats:
    """Z: sum over all subsets of the product of element weights x (n, t): (t,)."""
    parts = parts or structure(prior)
    total = np.prod(1.0 + x[parts.free], axis=0)
    for group in parts.groups:
        total = total * group_total(prior, group, x)
    for axis in prior.axes:
        if not len(axis.members):
            total = total * axis.shares.sum()
    return np.asarray(total)


def group_total(prior: Prior, group: Group, x: Floats) -> Floats:
    """Sum over the subsets of one group for element weights x (n, t): (t,)."""
    if group.axis < 0:
        return _parts_product(prior, group, x)
    axis = prior.axes[group.axis]
    total = np.zeros(x.shape[1])
    for value, share in enumerate(axis.shares):
        factor = np.ones((len(x), 1))
        factor[axis.members, 0] = axis.applies[:, value] / axis.member_share
        total += share * _parts_product(prior, group, x * factor)
    return total


def log_mass(prior: Prior, sets: Bools) -> Floats:
    """log m(S) of each row of ``sets`` (N, n); -inf where no variant allows the set."""
    with np.errstate(divide="ignore"):
        mass = sets @ np.log(prior.odds)
        for i, j, factor in prior.leads:
            mass += np.log(factor) * (sets[:, i] & sets[:, j])
        for axis in prior.axes:
            mass += np.log(axis_mass(axis, sets) @ axis.shares)
    return np.asarray(mass)


def axis_mass(axis: Axis, sets: Bools) -> Floats:
    """Factor on m(S) if the axis has each value, before its share: (N, v)."""
    inside = sets[:, axis.members].astype(float)
    forbidden = inside @ (~axis.applies).astype(float)
    return np.asarray(np.exp(-inside @ np.log(axis.member_share))[:, None] * (forbidden == 0))


def main_shares(prior: Prior) -> tuple[Floats, float]:
    r"""P(main cause is i) and P(two or more causes), both over all calls.

    The share of a set is averaged without listing sets, through
    :math:`1/\sum_S o = \int_0^\infty e^{-t \sum_S o}\,dt`, by the trapezoid rule
    in log t, exponentially accurate for this integrand.
    """
    odds, parts = prior.odds, structure(prior)
    log_t = np.arange(np.log(1e-13 / odds.max()), np.log(60.0 / odds.min()), LOG_T_STEP)
    t = np.exp(log_t)
    x = odds[:, None] * np.exp(-np.outer(odds, t))
    everything = total_mass(prior, x, parts)
    inside = np.empty_like(x)  # share of the total in sets that hold the cause
    inside[parts.free] = x[parts.free] / (1.0 + x[parts.free])
    for group in parts.groups:
        total = group_total(prior, group, x)
        for i in group.members:
            without = x.copy()
            without[i] = 0.0
            inside[i] = 1.0 - group_total(prior, group, without) / total
    main = odds * ((inside * everything * t).sum(axis=1) * LOG_T_STEP)
    faulty = 1.0 - prior.healthy.sum()
    share = faulty / (float(total_mass(prior, odds[:, None], parts)[0]) - 1.0)
    return main * share, float(faulty - odds.sum() * share)


def solve_odds(weights: Floats, second_share: float, prior: Prior) -> Prior:
    """``prior`` with odds that reproduce the weights and the share of second faults.

    Parameters
    ----------
    weights : (n,) array
        Wanted P(main cause is i) [share of calls]; sums to 1 - prior.healthy.sum().
    second_share : float
        Wanted P(two or more causes) [share of calls].
    prior : Prior
        Healthy shares, axes and leads; its odds are ignored.

    Notes
    -----
    Fixed point: each odds is scaled by wanted over got, then all together until
    the share of second faults is right, down to a relative error of 1e-12.
    """
    prior = replace(prior, odds=weights / weights.sum() * 0.1)
    for _ in range(400):
        prior = replace(prior, odds=prior.odds * _scale(prior, second_share))
        got, _ = main_shares(prior)
        if float(np.max(np.abs(got / weights - 1.0))) < 1e-12:
            break
        prior = replace(prior, odds=prior.odds * weights / got)
    return prior


def _scale(prior: Prior, second_share: float) -> float:
    """Common factor on all odds for the wanted share of two or more causes."""
    wanted = second_share / (1.0 - prior.healthy.sum())
    parts = structure(prior)
    low, high = 1e-6, 1e6
    while high / low - 1.0 > 1e-14:
        middle = float(np.sqrt(low * high))
        odds = prior.odds * middle
        z = float(total_mass(prior, odds[:, None], parts)[0])
        several = 1.0 - odds.sum() / (z - 1.0)
        low, high = (middle, high) if several < wanted else (low, middle)
    return float(np.sqrt(low * high))


def _axis_of(prior: Prior, part: tuple[int, ...]) -> int:
    for number, axis in enumerate(prior.axes):
        if any(i in part for i in axis.members):
            return number
    return -1


def _parts_product(prior: Prior, group: Group, x: Floats) -> Floats:
    result = np.ones(x.shape[1])
    for part in group.parts:
        if len(part) == 1:
            result = result * (1.0 + x[part[0]])
            continue
        terms = _terms(prior.leads, part)
        there = np.where(terms.chosen[:, :, None], x[list(terms.hubs)][None], 1.0)
        others = 1.0 + x[list(terms.others)][None] * terms.raised[:, :, None]
        held = np.prod(there, axis=1) * np.prod(others, axis=1)
        result = result * (terms.factor @ held)
    return np.asarray(result)


@dataclass(frozen=True, slots=True)
class _Terms:
    """A part of a group summed over which of its h hubs are there: k = 2^h terms."""

    hubs: tuple[int, ...]
    others: tuple[int, ...]  # m causes
    chosen: Bools  # (k, h)
    factor: Floats  # (k,) of the leads between hubs that are there
    raised: Floats  # (k, m) what the hubs that are there do to each other cause


@lru_cache(maxsize=256)
def _terms(leads: tuple[tuple[int, int, float], ...], part: tuple[int, ...]) -> _Terms:
    hubs = _hubs(leads, part)
    others = [i for i in part if i not in hubs]
    chosen = np.array(list(product((False, True), repeat=len(hubs))), dtype=bool)
    inside = [[i for i, yes in zip(hubs, row, strict=True) if yes] for row in chosen]
    factor = np.array([_pair_factor(leads, some, some) for some in inside])
    raised = np.array([[_pair_factor(leads, some, [i]) for i in others] for some in inside])
    shape = (len(inside), len(others))
    return _Terms(tuple(hubs), tuple(others), chosen, factor, raised.reshape(shape))


def _hubs(leads: tuple[tuple[int, int, float], ...], part: tuple[int, ...]) -> list[int]:
    """Causes of a part without which no lead is left in it, found greedily.

    Given which of them are there, the others are independent: 2^hubs terms stand for
    the 2^part subsets, so many causes may lead to one.
    """
    left = [(i, j) for i, j, _ in leads if i in part]
    hubs: list[int] = []
    while left:
        ends = [end for lead in left for end in lead]
        hubs.append(max(part, key=ends.count))
        left = [lead for lead in left if hubs[-1] not in lead]
    return hubs


def _pair_factor(
    leads: tuple[tuple[int, int, float], ...], some: list[int], others: list[int]
) -> float:
    """Product of the leads between two lists of causes, each lead once."""
    factor = 1.0
    for i, j, lead in leads:
        if (i in some and j in others) or (j in some and i in others):
            factor *= lead
    return factor
