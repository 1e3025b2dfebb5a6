"""What an indication meant, from jobs that were closed with their cause made sure.

Each job says with which chance its controller or customer met each condition first. The
chance that the next machine showing this has condition k is that of a Dirichlet prior
with the pack's shares of conditions as pseudo-counts, worth one job together:

    P(k) = (n_k + s_k) / (n + 1),    n_k = sum over the n jobs of P(condition k | job)

exact where every job's condition is certain, otherwise with expected counts, which is the
more careful side: jobs whose condition is in doubt do not confirm each other.

Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 3.4, p. 69 (multinomial
with a Dirichlet prior; from memory). Pseudo-counts of one job in all: Perks (1947),
Journal of the Institute of Actuaries 73, pp. 285-334 (from memory), there in equal shares.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
PRIOR_JOBS = 1.0


def meaning_chances(by_job: Floats, shares: Floats) -> Floats:
    """The chance of each condition at the next machine that shows this: (c,).

    Parameters
    ----------
    by_job : (n, c) array
        P(condition | job), rows that sum to one.
    shares : (c,) array
        The pack's shares of the conditions, not all zero; made to sum to one.

    Examples
    --------
    Three of three jobs had the first condition, met in a fifth of all calls:
    (3 + 0.2) / (3 + 1).

    >>> jobs = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 0.0]])
    >>> meaning_chances(jobs, np.array([0.2, 0.8])).round(3).tolist()
    [0.8, 0.2]
    """
    prior = PRIOR_JOBS * shares / shares.sum()
    return np.asarray((by_job.sum(axis=0) + prior) / (len(by_job) + PRIOR_JOBS))
