r"""Which sets of causes may be present, and what a check then says.

With a single fault the sets are the single causes. Otherwise causes are independent,
given that at least one is present:

.. math:: P(S) \propto \prod_{i \in S} p_i \prod_{i \notin S} (1 - p_i),
          \quad S \ne \emptyset

Shapes: ``m`` sets, ``n`` causes, ``k`` outcomes of a check, worst first.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tubside.diagnosis.solve.problem import Check, Floats, Problem
from tubside.errors import ProblemTableError

Members = npt.NDArray[np.bool_]

ALL_SETS_UP_TO = 12
"""Independent causes of which every set is kept: 4095 of them."""
MOST_SETS = 1500
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Sets:
    """The sets that are kept; ``prior`` sums to one over them.

    ``left_out`` is the share of all belief that the sets left out held before anything
    was done. The kept sets are closed: each part of a kept set that is not empty is kept.
    """

    member: Members  # (m, n)
    prior: Floats  # (m,)
    left_out: float = 0.0


def sets_of(problem: Problem, most: int = MOST_SETS, all_up_to: int = ALL_SETS_UP_TO) -> Sets:
    """Return the sets of causes, the likeliest ``most`` where there are too many for all.

    Raises
    ------
    ProblemTableError
        If no cause has a chance above zero.

    Examples
    --------
    >>> from tubside.diagnosis.solve.problem import Problem
    >>> two = Problem("", "working", False, ("a", "b"), np.array([0.5, 0.2]), (), (), (), ())
    >>> found = sets_of(two)
    >>> found.member.astype(int).tolist(), found.prior.round(4).tolist()
    ([[1, 0], [0, 1], [1, 1]], [0.6667, 0.1667, 0.1667])
    """
    prior = np.asarray(problem.prior, dtype=np.float64)
    if not (prior > 0).any():
        msg = "no cause has a chance above 0; give at least one cause a chance"
        raise ProblemTableError(msg)
    if problem.single_fault:
        return Sets(np.eye(len(prior), dtype=np.bool_), prior / prior.sum())
    if len(prior) <= all_up_to:
        number = np.arange(1, 2 ** len(prior))
        member = (number[:, None] >> np.arange(len(prior))) & 1 == 1
        member = member[np.lexsort((number, member.sum(axis=1)))]
        chance = np.where(member, prior, 1.0 - prior).prod(axis=1)
        return Sets(member, chance / chance.sum())
    return _likeliest(prior, most)


def _likeliest(prior: Floats, most: int) -> Sets:
    """Sets best first; odds above one are cut to one in the order, so parts come first."""
    n = len(prior)
    odds = np.minimum(prior / np.maximum(1.0 - prior, ROUNDING), 1.0)
    causes = [int(i) for i in np.argsort(-odds, kind="stable") if odds[i] > 0]
    waiting: list[tuple[float, int, tuple[int, ...]]]
    waiting = [(-float(odds[c]), 1, (rank,)) for rank, c in enumerate(causes)]
    heapq.heapify(waiting)
    kept: list[tuple[int, ...]] = []
    while waiting and len(kept) < most:
        weight, size, ranks = heapq.heappop(waiting)
        kept.append(ranks)
        for rank in range(ranks[-1] + 1, len(causes)):
            grown = weight * float(odds[causes[rank]])
            heapq.heappush(waiting, (grown, size + 1, (*ranks, rank)))
    kept.sort(key=lambda ranks: (len(ranks), ranks))
    member = np.zeros((len(kept), n), dtype=np.bool_)
    for row, of_row in enumerate(kept):
        member[row, [causes[rank] for rank in of_row]] = True
    chance = np.where(member, prior, 1.0 - prior).prod(axis=1)
    some = 1.0 - float((1.0 - prior).prod())
    held = float(chance.sum())
    return Sets(member, chance / held, max(0.0, 1.0 - held / some))


def said(check: Check, member: Members, *, single_fault: bool) -> Floats:
    r"""Return P(outcome | set): (k, m).

    With :math:`T(o \mid x)` the chance of outcome o or a better one,

    .. math:: T(o \mid S) = L(o) \prod_{i \in S} \frac{T(o \mid i)}{L(o)},
              \quad L(o) = T(o \mid \text{otherwise})

    so that one present cause gives its own row. Two outcomes: the noisy-OR whose
    numbers already contain the leak.

    Raises
    ------
    ProblemTableError
        If for some set of independent causes a T is outside 0-1 or rises with o.

    References
    ----------
    J. Pearl, *Probabilistic Reasoning in Intelligent Systems*, 1988, section 4.3.2;
    F. J. Diez, "Parameter adjustment in Bayes networks: the generalized noisy OR-gate",
    UAI 1993 (both from memory).

    Examples
    --------
    Leak .1, two causes .6 and .8 that contain it: together 1 - .4 x .2 / .9.

    >>> table = np.array([[0.6, 0.4], [0.8, 0.2]])
    >>> look = Check("look", 1.0, ("bad", "good"), table, np.array([0.1, 0.9]))
    >>> said(look, np.array([[True, True]]), single_fault=False).round(6).tolist()
    [[0.911111], [0.088889]]
    """
    if single_fault:
        return np.ascontiguousarray(check.given.T)
    tail = _tails(check.given)
    leak = _tails(check.otherwise[None, :])[0]
    _check_tails(check, tail, leak)
    ratio = np.divide(tail, leak, out=np.zeros_like(tail), where=leak > 0)
    product = np.where(member[:, :, None], ratio, 1.0).prod(axis=1) * leak
    alone = member.sum(axis=1) == 1
    product[alone] = member[alone].astype(np.float64) @ tail
    chance = product - np.hstack([product[:, 1:], np.zeros((len(product), 1))])
    return np.ascontiguousarray(np.clip(chance, 0.0, 1.0).T)


def _tails(rows: Floats) -> Floats:
    """T(o) of each row: chance of this outcome or a better one; the first is one."""
    tail = np.cumsum(rows[:, ::-1], axis=1)[:, ::-1].copy()
    tail[:, 0] = 1.0
    return np.where(tail < ROUNDING, 0.0, tail)


def _check_tails(check: Check, tail: Floats, leak: Floats) -> None:
    """Look for the worst set of each outcome; it need not be listed to be found."""
    impossible = (leak == 0) & ((tail > 0).sum(axis=0) > 1)
    ratio = np.divide(tail, leak, out=np.ones_like(tail), where=leak > 0)
    largest = leak * np.maximum(ratio, 1.0).prod(axis=0)
    for o in map(int, np.flatnonzero(impossible | (largest > 1.0 + ROUNDING))):
        msg = (
            f"check {check.name!r}: with several causes the chance of {check.outcomes[o]!r} or"
            " better goes above 1; raise that chance in 'otherwise', or lower it in 'given'"
        )
        raise ProblemTableError(msg)
    for o in range(len(leak) - 1):
        if leak[o + 1] <= 0:
            continue
        share = ratio[:, o + 1] / np.maximum(ratio[:, o], ROUNDING)
        if leak[o + 1] * np.maximum(share, 1.0).prod() > leak[o] * (1.0 + ROUNDING):
            msg = (
                f"check {check.name!r}: with several causes {check.outcomes[o + 1]!r} or better"
                f" becomes likelier than {check.outcomes[o]!r} or better; order the outcomes"
                " worst first, or make 'otherwise' the best row"
            )
            raise ProblemTableError(msg)
