r"""Remedies that share a cost: one re-run for several, one cover opened once.

Both take one perfect remedy for each cause, with :math:`p_i` the chance that the
remedy's own cause is the fault; the chances may sum to less than one. Numbers as
in :mod:`tubside.diagnosis.order`: fractions give exact results.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from tubside.diagnosis.order import Number, by_ratio, check_chances, check_costs

MOST_IN_BLOCKS = 10

Blocks = tuple[tuple[int, ...], ...]


def blocks_cost(
    chances: Sequence[Number],
    costs: Sequence[Number],
    rerun: Number,
    blocks: Sequence[Sequence[int]],
) -> Number:
    r"""Return the expected cost when the re-run waits until a block of remedies is done.

    .. math:: \mathrm{ECR} = \sum_b \Bigl(1 - \sum_{i \in \text{earlier blocks}} p_i\Bigr)
              \Bigl(C_W + \sum_{i \in b} c_i\Bigr)

    Parameters
    ----------
    chances, costs : sequences of n numbers
        :math:`p_i`, and the cost of each remedy without its re-run [money].
    rerun : number
        :math:`C_W`, cost of one re-run [money].
    blocks : sequences of remedies
        Done in this order, a re-run after each block.

    References
    ----------
    T. J. Ottosen & F. V. Jensen, "When to Test? Troubleshooting with Postponed
    System Test", Technical Report 10-001, Aalborg University, 2010 (abstract read;
    the equation follows from it).

    Examples
    --------
    Own numbers for the published model:

    >>> from fractions import Fraction
    >>> p = [Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)]
    >>> blocks_cost(p, [4, 1, 2], 2, [[0, 1], [2]])
    Fraction(39, 5)
    """
    check_chances(chances)
    check_costs(costs, len(chances))
    total: Number = 0
    left: Number = 1
    for block in blocks:
        total = total + left * (rerun + sum(costs[i] for i in block))
        left = left - sum(chances[i] for i in block)
    return total


def best_blocks(
    chances: Sequence[Number], costs: Sequence[Number], rerun: Number
) -> tuple[Blocks, Number]:
    """Return the blocks of all remedies with least expected cost, and that cost.

    Exhaustive over the sets already done, so exact; within a block the order does
    not matter and is given by number.

    Raises
    ------
    ValueError
        If there are more than 10 remedies (there are 3 to the power of that many ways).

    References
    ----------
    As :func:`blocks_cost`.

    Examples
    --------
    >>> from fractions import Fraction
    >>> best_blocks([Fraction(1, 2), Fraction(3, 10), Fraction(1, 5)], [4, 1, 2], 2)
    (((0, 1), (2,)), Fraction(39, 5))
    """
    count = len(chances)
    if count > MOST_IN_BLOCKS:
        msg = f"{count} remedies are too many to search; give at most {MOST_IN_BLOCKS}"
        raise ValueError(msg)
    best: dict[frozenset[int], tuple[Number, Blocks]] = {frozenset(): (0, ())}
    for done in _parts(range(count)):
        cost, blocks = best[frozenset(done)]
        left = 1 - sum(chances[i] for i in done)
        for block in _parts([i for i in range(count) if i not in done]):
            if block:
                spent = cost + left * (rerun + sum(costs[i] for i in block))
                grown = (spent, (*blocks, block))
                key = frozenset((*done, *block))
                best[key] = min(best.get(key, grown), grown)
    cost, blocks = best[frozenset(range(count))]
    return blocks, cost


def _parts(items: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Every part of ``items``, small ones first."""
    for size in range(len(items) + 1):
        yield from combinations(items, size)


@dataclass(frozen=True, slots=True)
class Covered:
    """Remedies of which some lie behind a cover that is opened once.

    Parameters
    ----------
    chances, costs : sequences of n numbers
        As for :func:`blocks_cost`, the re-run's cost within ``costs``.
    behind : sequence of n integers
        Cover of each remedy, -1 for one in the open.
    opening : sequence of numbers
        Cost of opening each cover, and of closing it at the end [money].
    """

    chances: Sequence[Number]
    costs: Sequence[Number]
    behind: Sequence[int]
    opening: Sequence[Number]

    def __post_init__(self) -> None:
        check_chances(self.chances)
        check_costs(self.costs, len(self.chances))
        check_costs(self.opening, len(self.opening))
        if any(not -1 <= cover < len(self.opening) for cover in self.behind):
            msg = "a remedy lies behind a cover that has no cost; give each cover its cost"
            raise ValueError(msg)


def covered_cost(problem: Covered, sequence: Sequence[int]) -> Number:
    r"""Return the expected cost of a sequence when each cover is opened once, when needed.

    .. math:: \mathrm{ECR} = \sum_k \Bigl(1 - \sum_{j<k} p_{a_j}\Bigr)
              \bigl(c_{a_k} + K_{a_k}[\text{cover still shut}]\bigr)

    Valid where the machine can be re-run with the cover off ("inside information").

    References
    ----------
    H. Langseth & F. V. Jensen, "Heuristics for two extensions of basic
    troubleshooting", SCAI 2001 (from memory); T. J. Ottosen & F. V. Jensen, "The cost
    of troubleshooting cost clusters with inside information", UAI 2010,
    arXiv 1203.3502 (abstract read).

    Examples
    --------
    Own numbers: the second cover costs 3 and hides two remedies:

    >>> covered_cost(Covered([0.5, 0.25, 0.25], [2, 1, 1], [-1, 0, 0], [3]), [0, 1, 2])
    4.25
    """
    total: Number = 0
    left: Number = 1
    opened = {-1}
    for a in sequence:
        cover = problem.behind[a]
        price = 0 if cover in opened else problem.opening[cover]
        opened.add(cover)
        total = total + left * (problem.costs[a] + price)
        left = left - problem.chances[a]
    return total


def covered_order(problem: Covered) -> tuple[int, ...]:
    r"""Return the order of least expected cost with covers that are opened once.

    Within a cover remedies go by p/c. A shut cover counts with its best beginning,

    .. math:: \max_m \frac{\sum_{j \le m} p_j}{K + \sum_{j \le m} c_j}

    and is opened when that ratio is the best of all; its other remedies then stand in
    the open. Optimal for covers that are not nested and need not be shut for a re-run.

    References
    ----------
    As :func:`covered_cost` (P over C from the bottom up); the ratio of a chain is
    W. A. Horn, "Single-machine job sequencing with treelike precedence ordering and
    linear delay penalties", SIAM J. Applied Mathematics 23(2), 1972, 189-202 (from
    memory).

    Examples
    --------
    >>> covered_order(Covered([0.2, 0.4, 0.4], [2, 1, 1], [-1, 0, 0], [3]))
    (1, 2, 0)
    """
    ranked = by_ratio(problem.chances, problem.costs)
    left = [a for a in ranked if problem.behind[a] < 0]
    shut = {k: [a for a in ranked if problem.behind[a] == k] for k in set(problem.behind) - {-1}}
    done: list[int] = []
    while left or shut:
        starts = [[a] for a in left] + [_best_start(problem, k, shut[k]) for k in sorted(shut)]
        chosen = starts[by_ratio(*_sums(problem, starts, shut.keys()))[0]]
        done += chosen
        cover = problem.behind[chosen[0]]
        left = [a for a in (*left, *shut.pop(cover, [])) if a not in chosen]
    return tuple(done)


def _best_start(problem: Covered, cover: int, inside: Sequence[int]) -> list[int]:
    starts = [list(inside[: m + 1]) for m in range(len(inside))]
    return starts[by_ratio(*_sums(problem, starts, {cover}))[0]]


def _sums(
    problem: Covered, starts: Sequence[Sequence[int]], shut: Collection[int]
) -> tuple[list[Number], list[Number]]:
    """Chance and cost of each start, with the opening where the cover is still shut."""
    gains: list[Number] = [sum(problem.chances[a] for a in start) for start in starts]
    opening = [problem.behind[start[0]] for start in starts]
    costs: list[Number] = [
        sum(problem.costs[a] for a in start) + (problem.opening[k] if k in shut else 0)
        for start, k in zip(starts, opening, strict=True)
    ]
    return gains, costs
