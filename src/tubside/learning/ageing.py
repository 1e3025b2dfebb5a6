r"""How a cause grows with age, learned from the ages at which it brought machines to the shop.

A pack says of each cause the Weibull shape of its life, and uses only how the hazard at one age
compares with its mean over the ages of callers (:mod:`tubside.pack.ageing`). So the shape is
learned from just that: of the calls with cause i,

    P(age a | i, shape) = mix_a f(a; shape),      sum_a mix_a f(a; shape) = 1

with mix the ages of machines: the pack's, worth twenty calls, and the shop's own callers added,
what ages more taken out of them. Machines that call for another cause are those at risk; this
assumes that callers stand for all machines of their age. Before any job ln(shape) is normal
about the pack's word; the mean and the interval are taken over a grid.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from tubside.errors import HistoryError
from tubside.learning.lifetimes import WeibullFit, by_maximum_likelihood
from tubside.learning.proportions import LEVEL, Floats, Learned
from tubside.pack.ageing import age_factors

GRID = np.exp(np.linspace(np.log(0.2), np.log(12.0), 401))
MIX_WORTH = 20.0
MIX_STEPS = 5
STEP = 1e-3

Ages = Mapping[str, Mapping[int, float]]


def age_table(ages: Ages, names: list[str], years: int) -> Floats:
    """Jobs by cause and whole years, the last holding all older ones: (n, years).

    >>> age_table({"belt": {3: 1.0, 40: 2.0}}, ["belt", "motor"], 5).tolist()
    [[0.0, 0.0, 0.0, 1.0, 2.0], [0.0, 0.0, 0.0, 0.0, 0.0]]
    """
    table = np.zeros((len(names), years))
    for row, name in enumerate(names):
        for age, jobs in ages.get(name, {}).items():
            table[row, min(age, years - 1)] += jobs
    return table


def shapes(met: Floats, said: Floats, mix: Floats, sigma: float) -> list[Learned]:
    """Shape of each cause after the ages at which it was met.

    Parameters
    ----------
    met : (n, years) array
        Jobs by cause and whole years.
    said : (n,) array
        Shapes by the pack.
    mix : (years,) array
        Share of machines by age; need not sum to one.
    sigma : float
        How far off the pack may be, in ln(shape).

    Examples
    --------
    A cause met only on old machines wears more steeply than one that does not age; without jobs
    the pack's word stays the middle.

    >>> met = np.array([[0.0, 0, 0, 40], [0.0, 0, 0, 0]])
    >>> old, none = shapes(met, np.array([1.0, 1.0]), np.ones(4), 0.35)
    >>> old.low > 1.2, none.low < 1.0 < none.high
    (True, True)
    """
    log_factor = np.log(age_factors(GRID, mix))
    logs = met @ log_factor.T - (np.log(GRID) - np.log(said)[:, None]) ** 2 / (2.0 * sigma**2)
    chance = np.exp(logs - logs.max(axis=1, keepdims=True))
    chance /= chance.sum(axis=1, keepdims=True)
    middle = chance @ np.log(GRID)
    wider = widened(met, np.exp(middle), mix, sigma)
    below = np.cumsum(chance, axis=1) - chance / 2.0
    tail = (1.0 - LEVEL) / 2.0
    found = []
    for row in range(len(met)):
        ends = np.interp([tail, 1.0 - tail], below[row], np.log(GRID))
        low, high = np.exp(middle[row] + wider[row] * (ends - middle[row]))
        mean, jobs = float(chance[row] @ GRID), float(met[row].sum())
        found.append(Learned(mean, float(low), float(high), jobs, 0.0))
    return found


def widened(met: Floats, shape: Floats, mix: Floats, sigma: float) -> Floats:
    """By which factor not knowing the mix widens the interval of each ln(shape): (n,).

    From the expected information of all shapes (a diagonal D) and of the logarithms of the mix
    (F, with B between both): the inverse of the whole has the diagonal
    ``1/D + diag(D^-1 B (F - B' D^-1 B)^-1 B' D^-1)``.

    >>> few = widened(np.full((1, 4), 2.0), np.array([2.0]), np.ones(4), 0.35)
    >>> many = widened(np.full((1, 4), 200.0), np.array([2.0]), np.ones(4), 0.35)
    >>> bool(1.0 < few[0] < many[0])
    True
    """
    mix = mix / mix.sum()
    factors = age_factors(shape, mix)
    chance = mix * factors
    chance = chance / chance.sum(axis=1, keepdims=True)
    slope = np.log(age_factors(shape * np.exp(STEP), mix) / factors) / STEP
    slope = slope - (chance * slope).sum(axis=1, keepdims=True)
    jobs = met.sum(axis=1)
    own = jobs * (chance * slope**2).sum(axis=1) + 1.0 / sigma**2
    between = jobs[:, None] * chance * slope
    ages = MIX_WORTH * (np.diag(mix) - np.outer(mix, mix))
    ages += np.diag(jobs @ chance) - (chance * jobs[:, None]).T @ chance
    rest = np.linalg.pinv(ages - (between / own[:, None]).T @ between, hermitian=True)
    more = np.einsum("ia,ab,ib->i", between, rest, between) / own
    return np.asarray(np.sqrt(1.0 + np.maximum(more, 0.0)))


def machines_mix(met: Floats, said: Floats, shape: Floats) -> Floats:
    """Share of machines by age, from the callers': the pack's, worth twenty calls, and those met.

    Callers of every origin together are ``mix_a sum_i w_i f_i(a)``; what ages more often calls
    at a high age, which is taken out again.

    Parameters
    ----------
    met : (m, years) array
        Jobs by origin and whole years.
    said : (years,) array
        The pack's mix.
    shape : (m,) array
        Shape of each origin, 1 for calls with nothing wrong.
    """
    said = said / said.sum()
    whole = MIX_WORTH * said + met.sum(axis=0)
    weights = met.sum(axis=1) / max(float(met.sum()), 1e-9)
    mix = said
    for _ in range(MIX_STEPS):
        grows = weights @ age_factors(shape, mix) if met.any() else np.ones(len(said))
        worth = MIX_WORTH + met.sum() * grows
        mix = whole / worth
        mix = mix / mix.sum()
    return np.asarray(mix)


def life(ages: Ages, cause: str) -> WeibullFit | None:
    """The life until one cause by maximum likelihood, other causes' machines being at risk.

    A machine that called for something else at its age had not failed of this cause by then
    (censored). Ages count from the middle of the year. None where fewer than two ages tell it.

    >>> ages = {"belt": {5: 3.0, 9: 4.0, 12: 2.0}, "hose": {2: 5.0, 8: 5.0, 15: 5.0}}
    >>> found = life(ages, "belt")
    >>> found.estimator, 1.0 < found.shape < 4.0, found.scale > 9.0
    ('maximum likelihood', True, True)
    """
    failed = {age: jobs for age, jobs in ages.get(cause, {}).items() if jobs > 0.0}
    others: dict[int, float] = {}
    for name, table in ages.items():
        if name != cause:
            for age, jobs in table.items():
                others[age] = others.get(age, 0.0) + jobs
    try:
        return by_maximum_likelihood(
            np.array([age + 0.5 for age in failed]),
            np.array([age + 0.5 for age in others]),
            np.array(list(failed.values())),
            np.array(list(others.values())),
        )
    except HistoryError:
        return None
