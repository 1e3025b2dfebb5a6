r"""In which order to try remedies when one fault is there: rules that can be checked.

Pure functions over small problems. The chances and costs may be floats or
:class:`fractions.Fraction`; with fractions every result is exact. Remedies and
causes are numbered from 0.

Nomenclature: :math:`p_h` chance of cause h, :math:`c_a` cost of remedy a with its
re-run, :math:`r_{ah}` chance that remedy a clears cause h, :math:`u(T)` chance that
the fault is still there after the remedies T were tried.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, pairwise

Number = float | Fraction
"""Exact in, exact out."""

MOST_REMEDIES = 14
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class SingleFault:
    """One fault, and remedies that are tried one after another, each once.

    Parameters
    ----------
    chances : sequence of n numbers
        :math:`p_h`, chance of each cause; they sum to one.
    costs : sequence of m numbers
        :math:`c_a` >= 0, cost of each remedy with the re-run that follows it [money].
    clears : m sequences of n numbers
        :math:`r_{ah}`, chance that remedy a clears cause h; given the cause, one
        remedy's failure says nothing of another's.

    Raises
    ------
    ValueError
        If a chance is outside 0-1, the chances do not sum to one, a cost is
        negative, or the shapes differ.
    """

    chances: Sequence[Number]
    costs: Sequence[Number]
    clears: Sequence[Sequence[Number]]

    def __post_init__(self) -> None:
        check_chances(self.chances)
        total = float(sum(self.chances))
        if abs(total - 1.0) > ROUNDING:
            msg = f"the chances of the causes sum to {total}; make them sum to 1"
            raise ValueError(msg)
        check_costs(self.costs, len(self.clears))
        for row in self.clears:
            check_chances(row)
            if len(row) != len(self.chances):
                msg = f"a remedy has {len(row)} chances; give it one for each cause"
                raise ValueError(msg)


def check_chances(chances: Sequence[Number]) -> None:
    """Raise ValueError unless every number is between 0 and 1."""
    wrong = [float(p) for p in chances if not 0 <= p <= 1]
    if wrong:
        msg = f"{wrong[0]} is no chance; give a number from 0 to 1"
        raise ValueError(msg)


def check_costs(costs: Sequence[Number], count: int) -> None:
    """Raise ValueError unless there are ``count`` costs, none negative."""
    if len(costs) != count:
        msg = f"there are {len(costs)} costs for {count} things to do; give each one cost"
        raise ValueError(msg)
    wrong = [float(c) for c in costs if c < 0]
    if wrong:
        msg = f"a cost of {wrong[0]} is negative; give a cost of 0 or more"
        raise ValueError(msg)


def perfect(chances: Sequence[Number], costs: Sequence[Number]) -> SingleFault:
    """Return the problem in which remedy i always clears cause i, and only that."""
    one_each = range(len(chances))
    return SingleFault(chances, costs, [[int(a == h) for h in one_each] for a in one_each])


def by_ratio(gains: Sequence[Number], costs: Sequence[Number]) -> tuple[int, ...]:
    """Return the numbers 0... by gain over cost, best first; ties keep their order.

    What costs nothing and may gain comes first, what gains nothing last.
    """

    def rank(i: int) -> tuple[int, Number]:
        if gains[i] == 0:
            return 2, 0
        return (0, 0) if costs[i] == 0 else (1, -gains[i] / costs[i])

    return tuple(sorted(range(len(gains)), key=rank))


def pc_order(chances: Sequence[Number], costs: Sequence[Number]) -> tuple[int, ...]:
    r"""Order perfect remedies by chance over cost, the best order there is.

    .. math:: p_1 / c_1 \ge p_2 / c_2 \ge \dots

    Valid for one fault, one perfect remedy for each cause, costs that do not
    depend on what was done before, and no checks between.

    References
    ----------
    J. B. Kadane & H. A. Simon, "Optimal strategies for a class of constrained
    sequential problems", Annals of Statistics 5(2), 1977, 237-255 (from memory).

    Examples
    --------
    Own numbers for the published rule:

    >>> half, three, fifth = Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)
    >>> pc_order([half, three, fifth], [6, 3, 4])
    (1, 0, 2)
    """
    check_chances(chances)
    check_costs(costs, len(chances))
    return by_ratio(chances, costs)


def still_there(problem: SingleFault, tried: Collection[int]) -> Number:
    r"""Return the chance that the fault is still there after ``tried``, each once.

    .. math:: u(T) = \sum_h p_h \prod_{a \in T} (1 - r_{ah})

    >>> still_there(perfect([0.5, 0.3, 0.2], [6, 3, 4]), [0])
    0.5
    """
    total: Number = 0
    for h, chance in enumerate(problem.chances):
        left = chance
        for a in tried:
            left = left * (1 - problem.clears[a][h])
        total = total + left
    return total


def expected_cost(problem: SingleFault, sequence: Sequence[int]) -> Number:
    r"""Return the expected cost of repair (ECR) of trying remedies in this order.

    .. math:: \mathrm{ECR} = \sum_k c_{a_k} \, u(\{a_1, \dots, a_{k-1}\})

    Valid for one fault and remedies that fail independently given the cause. What
    is still broken at the end costs nothing more: end with something that
    always helps.

    References
    ----------
    F. V. Jensen et al., "The SACSO methodology for troubleshooting complex
    systems", AI EDAM 15(4), 2001, 321-333 (pages read, equation from memory).
    Example: F. V. Jensen & T. D. Nielsen, *Bayesian Networks and Decision Graphs*,
    2nd ed., 2007, exercise to ch. 9 (input read, answer recomputed).

    Examples
    --------
    Reboot, virus tool, reformat, new computer:

    >>> causes = [Fraction(80, 100), Fraction(15, 100), Fraction(5, 100)]
    >>> most = Fraction(99, 100)
    >>> clears = [[1, 0, 0], [0, Fraction(95, 100), 0], [most, most, 0], [1, 1, 1]]
    >>> computer = SingleFault(causes, [1, 2, 25, 500], clears)
    >>> float(expected_cost(computer, [0, 1, 2, 3]))
    27.875
    >>> float(expected_cost(computer, [0, 1, 3]))
    30.15
    """
    total: Number = 0
    for k, a in enumerate(sequence):
        total = total + problem.costs[a] * still_there(problem, sequence[:k])
    return total


def efficiency(problem: SingleFault, tried: Collection[int], remedy: int) -> Number:
    r"""Return P(the remedy helps | ``tried`` did not) / cost, or infinity when free.

    .. math:: \mathrm{ef}(a \mid T) = \frac{u(T) - u(T \cup a)}{u(T) \, c_a}

    Zero when nothing can be left to clear.

    References
    ----------
    F. V. Jensen et al., AI EDAM 15(4), 2001, 321-333 (definition from memory).

    Examples
    --------
    >>> efficiency(perfect([0.5, 0.25, 0.25], [6, 3, 4]), [0], 2)
    0.125
    """
    before = still_there(problem, tried)
    after = still_there(problem, [*tried, remedy])
    if before == after:
        return 0
    cost = problem.costs[remedy]
    return float("inf") if cost == 0 else (before - after) / (before * cost)


def wrong_pair(problem: SingleFault, sequence: Sequence[int]) -> int | None:
    r"""Return the first place where two neighbours ought to change places, if any.

    In an optimal sequence with independent costs every neighbouring pair satisfies

    .. math:: \mathrm{ef}(a_k \mid T) \ge \mathrm{ef}(a_{k+1} \mid T),
              \quad T = \{a_1, \dots, a_{k-1}\}

    Necessary, not sufficient: a sequence without a wrong pair need not be optimal.

    References
    ----------
    F. V. Jensen et al., AI EDAM 15(4), 2001, 321-333, as quoted by T. J. Ottosen &
    F. V. Jensen, "A* Wars: The fight for improving A* search for troubleshooting
    with dependent actions", 2008 (theorem read there).

    Examples
    --------
    >>> three = perfect([0.5, 0.3, 0.2], [6, 3, 4])
    >>> wrong_pair(three, [1, 0, 2]) is None
    True
    >>> wrong_pair(three, [0, 1, 2])
    0
    """
    for k, (a, b) in enumerate(pairwise(sequence)):
        first = efficiency(problem, sequence[:k], a)
        second = efficiency(problem, sequence[:k], b)
        if first < second and not _nearly_same(first, second):
            return k
    return None


def _nearly_same(first: Number, second: Number) -> bool:
    return math.isclose(first, second, rel_tol=1e-12)


def updating_order(problem: SingleFault) -> tuple[int, ...]:
    """Return the order that always takes the most efficient remedy next.

    Optimal for perfect remedies of one cause each; otherwise a good rule without a
    promise (see :func:`best_sequence`). Remedies that cannot help any more come last.

    >>> updating_order(perfect([0.5, 0.3, 0.2], [6, 3, 4]))
    (1, 0, 2)
    """
    tried: list[int] = []
    left = list(range(len(problem.costs)))
    while left:
        best = max(left, key=lambda a: efficiency(problem, tried, a))
        tried.append(best)
        left.remove(best)
    return tuple(tried)


def best_sequence(problem: SingleFault) -> tuple[tuple[int, ...], Number]:
    r"""Return an order of all remedies with least expected cost, and that cost.

    Exhaustive over the sets already tried, because u(T) does not depend on the
    order within T (dynamic programming as in M. Held & R. M. Karp, "A dynamic
    programming approach to sequencing problems", J. SIAM 10(1), 1962, 196-210; from
    memory):

    .. math:: V(T \cup a) \le V(T) + c_a \, u(T)

    Raises
    ------
    ValueError
        If there are more than 14 remedies (the sets number 2 to the power of that).

    Examples
    --------
    >>> best_sequence(perfect([Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)], [6, 3, 4]))
    ((1, 0, 2), Fraction(8, 1))
    """
    count = len(problem.costs)
    if count > MOST_REMEDIES:
        msg = f"{count} remedies are too many to search; give at most {MOST_REMEDIES}"
        raise ValueError(msg)
    best: dict[frozenset[int], tuple[Number, tuple[int, ...]]] = {frozenset(): (0, ())}
    for size in range(count):
        for tried in map(frozenset, combinations(range(count), size)):
            cost, sequence = best[tried]
            left = still_there(problem, tried)
            for a in set(range(count)) - tried:
                grown = (cost + problem.costs[a] * left, (*sequence, a))
                best[tried | {a}] = min(best.get(tried | {a}, grown), grown)
    cost, sequence = best[frozenset(range(count))]
    return sequence, cost
