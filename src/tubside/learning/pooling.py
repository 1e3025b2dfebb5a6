r"""From family to model to shop: each borrows from the one above, the more the fewer jobs it has.

Shares of a group are Dirichlet about those of the level above, worth kappa jobs. Groups
whose counts differ little tell a large kappa; it is the one under which the counts of all groups
are likeliest (Dirichlet-multinomial):

    ln P(n | kappa) = sum_groups [ lnG(kappa) - lnG(kappa + N)
                                   + sum_i lnG(kappa m_i + n_i) - lnG(kappa m_i) ]

beside ln(kappa) normal about its stated value. Minka (2000), Estimating a Dirichlet
distribution, section 2 (from memory). N jobs of one group speak of the level above as
N (kappa + 1) / (kappa + N) jobs drawn from it do: the variance of a Dirichlet-multinomial
share is that of a multinomial times (kappa + N) / (kappa + 1) (Mosimann, Biometrika 49 (1962),
pp. 65-82; from memory). What is passed down is worth s with

    1 / (s + 1) = 1 / (S + 1) + 1 / (kappa + 1)

S being the worth of the level above: the variance m (1 - m) / (s + 1) of a share adds up. Kappa
is taken about the middle of the g groups themselves and so looks larger than it is; it is made
smaller by (g - 1) / g, as a variance about a mean is made larger.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.learning.proportions import Floats

STATED = 100.0
"""Kappa where too few groups are there to tell it (common practice, no source)."""
SPREAD = 1.0
"""How far off that may be, in ln(kappa): what keeps a handful of alike jobs from telling much."""
LEAST, MOST = 5.0, 2000.0
ENOUGH_GROUPS, ENOUGH_JOBS = 3, 5.0
"""So many groups of so many jobs tell their own kappa."""


@dataclass(frozen=True, slots=True)
class Passed:
    """What the level above says of a group: shares, their worth in jobs, and kappa."""

    said: Floats  # (k,)
    worth: float
    strength: float
    told: bool
    """Whether kappa was told by the counts, else it is the stated one."""


def strength(groups: Floats, said: Floats) -> float | None:
    """Kappa that the groups' counts make likeliest; None where too few tell it.

    Parameters
    ----------
    groups : (g, k) array
        Counts of each group.
    said : (k,) array
        Shares of the level above, all above nought.

    Examples
    --------
    Four groups that are quite unlike, then four that are alike as can be:

    >>> said = np.array([0.5, 0.5])
    >>> unlike = strength(np.array([[20.0, 0], [0, 20], [18, 2], [3, 17]]), said)
    >>> alike = strength(np.array([[10.0, 10], [10, 10], [10, 10], [10, 10]]), said)
    >>> unlike < 15, alike > 100
    (True, True)
    """
    from scipy.optimize import minimize_scalar  # noqa: PLC0415  # start-up stays fast

    large = groups[groups.sum(axis=1) >= ENOUGH_JOBS]
    if len(large) < ENOUGH_GROUPS:
        return None
    found = minimize_scalar(
        lambda log_kappa: -_height(large, said, float(np.exp(log_kappa))),
        bounds=(np.log(LEAST), np.log(MOST)),
        method="bounded",
    )
    ends = [(_height(large, said, k), k) for k in (LEAST, MOST, float(np.exp(found.x)))]
    return max(ends)[1]


def _height(groups: Floats, said: Floats, kappa: float) -> float:
    return log_chance(groups, said, kappa) - float(np.log(kappa / STATED)) ** 2 / (2.0 * SPREAD**2)


def log_chance(groups: Floats, said: Floats, kappa: float) -> float:
    """ln P(counts of all groups | kappa), but for what does not depend on it.

    One job tells nothing of kappa: its chance is the share itself.

    >>> one = np.array([[1.0, 0.0]])
    >>> [round(log_chance(one, np.array([0.25, 0.75]), kappa), 6) for kappa in (2.0, 50.0)]
    [-1.386294, -1.386294]
    """
    from scipy.special import gammaln  # noqa: PLC0415  # start-up stays fast

    jobs = groups.sum(axis=1)
    cells = gammaln(kappa * said + groups) - gammaln(kappa * said)
    return float((gammaln(kappa) - gammaln(kappa + jobs)).sum() + cells.sum())


def passed_down(said: Floats, worth: float, others: Floats) -> Passed:
    """What a group may expect before its own jobs, given what the other groups met.

    Parameters
    ----------
    said : (k,) array
        Shares by the level above that, summing to one.
    worth : float
        In jobs, of a single group's share, when there are no others.
    others : (g, k) array
        Counts of the other groups.

    Examples
    --------
    Without others it is what was said; with others it moves towards them, and is worth more.

    >>> said = np.array([0.2, 0.8])
    >>> alone = passed_down(said, 50.0, np.empty((0, 2)))
    >>> alone.said.tolist(), round(alone.worth, 9)
    ([0.2, 0.8], 50.0)
    >>> beside = passed_down(said, 50.0, np.array([[30.0, 30], [28, 32], [35, 25]]))
    >>> bool(0.2 < beside.said[0] < 0.5), beside.worth > 50
    (True, True)
    """
    above = _above(min(worth, STATED - 1.0))
    jobs = others.sum(axis=0)
    found = strength(others, (said + jobs) / (1.0 + jobs.sum()))
    kappa = STATED if found is None else max(found * (1.0 - 1.0 / len(others)), LEAST)
    mean, total = _middle(said, above, others, kappa)
    down = 1.0 / (1.0 / (total + 1.0) + 1.0 / (kappa + 1.0)) - 1.0
    return Passed(mean, down, kappa, found is not None)


def _middle(said: Floats, above: float, others: Floats, kappa: float) -> tuple[Floats, float]:
    """Shares of the level above after the groups below it spoke, and their worth."""
    jobs = others.sum(axis=1)
    spoken = others * ((kappa + 1.0) / (kappa + jobs))[:, None]
    total = above + float(spoken.sum())
    return np.asarray((above * said + spoken.sum(axis=0)) / total), total


def _above(worth: float) -> float:
    """Worth of the level above, such that a group without others is worth ``worth``."""
    return 1.0 / (1.0 / (worth + 1.0) - 1.0 / (STATED + 1.0)) - 1.0
