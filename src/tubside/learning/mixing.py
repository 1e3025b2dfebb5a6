r"""Shares learned from jobs in doubt: expectation and maximisation, and what doubt costs.

Each told thing u may come from one of k sources with chance L[u, k]. With pseudo-counts a,
counts n of what is certain, and w[u] things told,

    r[u, k] = m_k L[u, k] / sum_j m_j L[u, j]
    m_k = (a_k + n_k + sum_u w_u r[u, k]) / (sum a + sum n + sum w)

until m rests (Dempster, Laird & Rubin, J. R. Stat. Soc. B 39 (1977), pp. 1-38, section 4.3; from
memory). What is missing takes certainty away: of each share by itself, the information is

    A / (m (1 - m)) - sum_u w_u r (1 - r) / (m (1 - m))^2,      A = sum a + sum n + sum w

(Louis, J. R. Stat. Soc. B 44 (1982), pp. 226-233, equation (3.2'); from memory), which is that
of a beta distribution of size s = A - sum_u w_u r (1 - r) / (m (1 - m)).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.learning.proportions import Floats

STEPS = 2000
RESTS = 1e-10


@dataclass(frozen=True, slots=True)
class Mixed:
    """Shares as learned, how large a sample each is worth, and who each told thing was from."""

    mean: Floats  # (b, k)
    size: Floats  # (b, k)
    source: Floats  # (b, u, k)


def mixed(pseudo: Floats, certain: Floats, likely: Floats, often: Floats) -> Mixed:
    """Shares of k sources in each of b rows, from what is certain and what is in doubt.

    Parameters
    ----------
    pseudo, certain : (b, k) arrays
        Pseudo-counts (nought for maximum likelihood), and counts whose source is known.
    likely : (u, k) or (b, u, k) array
        P(told u | source k), the same for all rows or not.
    often : (b, u) array
        How often each was told.

    Examples
    --------
    Fisher's linkage, 197 animals: 125 = (2 + p) / 4, 18 and 20 = (1 - p) / 4 each, 34 = p / 4;
    the likeliest p is 0.6268.

    >>> likely = np.array([[0.75, 0.5], [0.0, 0.25], [0.0, 0.25], [0.25, 0.0]])
    >>> none, told = np.zeros((1, 2)), np.array([[125.0, 18.0, 20.0, 34.0]])
    >>> round(float(mixed(none, none, likely, told).mean[0, 0]), 4)
    0.6268
    """
    base = pseudo + certain
    total = base.sum(axis=1) + often.sum(axis=1)
    mean = (base + 1e-9) / (base + 1e-9).sum(axis=1, keepdims=True)
    if not base.any():
        mean = np.full_like(mean, 1.0 / mean.shape[1])
    source = _source(mean, likely)
    for _ in range(STEPS):
        new = (base + (often[:, :, None] * source).sum(axis=1)) / total[:, None]
        rests = bool(np.abs(new - mean).max(initial=0.0) < RESTS)
        mean, source = new, _source(new, likely)
        if rests:
            break
    spread = np.maximum(mean * (1.0 - mean), 1e-12)
    missing = (often[:, :, None] * source * (1.0 - source)).sum(axis=1) / spread
    least = np.minimum(np.maximum(pseudo.sum(axis=1), 1e-9), total)[:, None]
    return Mixed(mean, np.maximum(total[:, None] - missing, least), source)


def _source(mean: Floats, likely: Floats) -> Floats:
    joint = mean[:, None, :] * likely
    return np.asarray(joint / np.maximum(joint.sum(axis=2, keepdims=True), 1e-300))
