r"""How the odds of a cause change with the machine's age.

The hazard of a Weibull life of shape k and scale :math:`\eta` is
:math:`h(t) = (k/\eta)(t/\eta)^{k-1}` (IEC 61649:2008, Weibull analysis, clause 7;
from memory). Its mean over the coming year is :math:`((t+1)^k - t^k)/\eta^k`.
Only its ratio to the mean over the ages at which calls come is used, so the
scale cancels, and an unknown age gives the weights back.
"""

from __future__ import annotations

import numpy as np

from tubside.pack.fault_model import Floats

LEAST, MOST = 0.1, 10.0


def age_factors(shape: Floats, age_mix: Floats) -> Floats:
    """Factor on each cause's odds by age in whole years.

    Parameters
    ----------
    shape : (n,) array
        Weibull shape of each cause; 1 is age-free.
    age_mix : (years,) array
        Share of calls by age 0, 1, 2 ... [years]; the last holds all older ones.

    Returns
    -------
    (n, years) array
        Hazard over its mean, kept within 0.1-10, scaled so that its mean over
        ``age_mix`` is exactly 1.

    Examples
    --------
    >>> factor = age_factors(np.array([1.0, 3.0]), np.array([0.25, 0.25, 0.25, 0.25]))
    >>> factor[0].tolist()
    [1.0, 1.0, 1.0, 1.0]
    >>> [round(float(f), 4) for f in factor[1]]  # 1, 7, 19, 37 over 16, the first kept at 0.1
    [0.0991, 0.4334, 1.1765, 2.291]
    """
    mix = age_mix / age_mix.sum()
    age = np.arange(len(mix), dtype=float)
    hazard = (age + 1.0) ** shape[:, None] - age ** shape[:, None]
    relative = np.clip(hazard / (hazard @ mix)[:, None], LEAST, MOST)
    return np.asarray(relative / (relative @ mix)[:, None])
