r"""How a call is reported, given the causes: noisy-OR with leak, stage and rank.

Each condition c follows from causes by noisy-OR with leak (Pearl 1988,
*Probabilistic Reasoning in Intelligent Systems*, section 4.3.2; from memory):

.. math:: P(c \mid S) = 1 - (1 - l_c) \prod_{i \in S} (1 - q_{ic})

Conditions stand in one order, by stage of the cycle and then by rank. The first
complaint is the first condition in that order that is on, given that there is
one; a stopping condition also hides later stages. People put it in their own
words: P(said | first condition). A pack states "of calls with this cause, so
many are reported as ...", a row that sums to one. It is P(said | cause alone),
not a noisy-OR weight, so q is fitted to it here and the residual is kept.
"""

from __future__ import annotations

import numpy as np

from tubside.pack.fault_model import Bools, Floats

EM_STEPS = 3000


def fit_first(table: Floats, said: Floats) -> Floats:
    """P(first condition | cause) whose words come closest to ``table``.

    Parameters
    ----------
    table : (n, c) array
        P(said | cause alone), rows sum to one.
    said : (c, c) array
        P(said | first condition), rows sum to one.

    Notes
    -----
    Expectation-maximisation for mixture weights (Dempster, Laird & Rubin 1977,
    J. R. Stat. Soc. B 39:1-38, section 4.3; from memory): each step raises the
    likelihood and keeps the weights on the simplex.
    """
    first = np.full(table.shape, 1.0 / table.shape[1])
    for _ in range(EM_STEPS):
        predicted = first @ said
        first = first * ((table / np.maximum(predicted, 1e-300)) @ said.T)
        first /= first.sum(axis=1, keepdims=True)
    return np.asarray(first)


def weights_from_first(first: Floats, leak: Floats, noticed: float) -> Floats:
    """Noisy-OR weights q (n, c) that make ``first`` the first condition's chances.

    Going down the order, P(c | cause) is the chance still to be given to c over
    the chance that nothing earlier is on; the leak is then taken out of it.
    ``noticed`` is P(some condition is on | cause alone).
    """
    absolute = noticed * first
    earlier = np.cumsum(absolute, axis=1) - absolute
    chance = absolute / np.maximum(1.0 - earlier, 1e-12)
    return np.asarray(np.clip((chance - leak) / (1.0 - leak), 0.0, 0.9999))


def off_chances(sets: Bools, q: Floats, leak: Floats) -> Floats:
    """P(condition is off | S) for each set (N, n): (N, c)."""
    return np.asarray(np.exp(sets @ np.log1p(-q) + np.log1p(-leak)))


def first_condition(off: Floats) -> Floats:
    """P(first complaint = c | S) / P(some complaint | S): (N, c), rows sum to one."""
    hidden = np.cumprod(off, axis=1)
    before = np.ones_like(off)
    before[:, 1:] = hidden[:, :-1]
    some = 1.0 - hidden[:, -1:]
    return np.asarray((1.0 - off) * before / some)
