r"""In which order to look for one fault: with a service call, with oversights, in series.

Numbers as in :mod:`tubside.diagnosis.order`: fractions give exact results, places
and parts are numbered from 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tubside.diagnosis.order import Number, by_ratio, check_chances, check_costs


@dataclass(frozen=True, slots=True)
class Cutoff:
    """How many places to look at before calling for service, and the expected cost [money]."""

    looked_at: int
    cost: Number


def observe_and_repair(
    chances: Sequence[Number],
    observing: Sequence[Number],
    repairing: Sequence[Number],
    service: Number | None = None,
) -> Cutoff:
    r"""Return the expected cost of looking in this order and mending what is found broken.

    .. math:: \mathrm{ECR} = \sum_i \Bigl(1 - \sum_{j<i} p_j\Bigr)
        \Bigl[C^o_i + \frac{p_i}{1 - \sum_{j<i} p_j} C^r_i\Bigr]

    With a service call of cost :math:`C^s` the sum may stop after any i, at the price
    :math:`(1 - \sum_{j \le i} p_j)\, C^s`; the cheapest stop is taken (the earliest of
    equals). Valid for one fault and looks that never err.

    Parameters
    ----------
    chances : sequence of n numbers
        :math:`p_i` in the order of looking.
    observing, repairing : sequences of n numbers
        :math:`C^o_i` of looking and :math:`C^r_i` of mending [money].
    service : number, optional
        :math:`C^s` [money]; without it every place is looked at.

    References
    ----------
    D. Heckerman, J. S. Breese & K. Rommelse, "Decision-theoretic troubleshooting",
    Communications of the ACM 38(3), 1995, 49-57 (opening read; the equation from
    memory). That mending costs do not change the best order is an exercise in S. Ross,
    *A First Course in Probability* (from memory).

    Examples
    --------
    Own numbers: the third place is dear to look at, so service is called before it.

    >>> observe_and_repair([0.5, 0.25, 0.25], [2, 2, 60], [10, 20, 40], service=80)
    Cutoff(looked_at=2, cost=33.0)
    >>> observe_and_repair([0.5, 0.25, 0.25], [2, 2, 60], [10, 20, 40])
    Cutoff(looked_at=3, cost=38.0)
    """
    check_chances(chances)
    check_costs(observing, len(chances))
    check_costs(repairing, len(chances))
    spent: Number = 0
    left: Number = 1
    stops: list[Cutoff] = [] if service is None else [Cutoff(0, service)]
    for i, chance in enumerate(chances):
        spent = spent + left * observing[i] + chance * repairing[i]
        left = left - chance
        if service is not None:
            stops.append(Cutoff(i + 1, spent + left * service))
    return min(stops, key=lambda stop: stop.cost, default=Cutoff(len(chances), spent))


@dataclass(frozen=True, slots=True)
class Search:
    """One fault in one of n places, looked for again and again with oversights.

    Parameters
    ----------
    chances : sequence of n numbers
        :math:`p_i`, chance that the fault is in place i.
    overlook : sequence of n numbers
        :math:`a_i`, chance that one look misses it although it is there; looks err
        independently.
    costs : sequence of n numbers
        :math:`c_i` > 0, cost of one look [money].
    """

    chances: Sequence[Number]
    overlook: Sequence[Number]
    costs: Sequence[Number]

    def __post_init__(self) -> None:
        check_chances(self.chances)
        check_chances(self.overlook)
        check_costs(self.costs, len(self.chances))
        if len(self.overlook) != len(self.chances) or 0 in self.costs:
            msg = "each place needs a chance of oversight and a cost above 0; give both"
            raise ValueError(msg)


def after_looks(search: Search, looks: Sequence[int]) -> list[Number]:
    r"""Return the chance of each place after ``looks[i]`` looks in vain at place i.

    .. math:: P(i \mid m) = \frac{p_i a_i^{m_i}}{\sum_j p_j a_j^{m_j}}

    References
    ----------
    S. M. Ross, *Introduction to Probability and Statistics for Engineers and
    Scientists*, 3rd ed., 2004, example 3.7f, p. 76 (page read; edition from memory).

    Raises
    ------
    ValueError
        If nothing is left: the fault cannot have been missed so often.

    Examples
    --------
    The missing plane: three regions, one searched in vain with oversight 0.4:

    >>> from fractions import Fraction
    >>> third = Fraction(1, 3)
    >>> plane = Search([third, third, third], [Fraction(4, 10), 0, 0], [1, 1, 1])
    >>> after_looks(plane, [1, 0, 0])[0]
    Fraction(1, 6)
    """
    left = [p * a**m for p, a, m in zip(search.chances, search.overlook, looks, strict=True)]
    total = sum(left)
    if total == 0:
        msg = "no place is left after these looks; raise a chance of oversight or look elsewhere"
        raise ValueError(msg)
    return [each / total for each in left]


def search_order(search: Search, count: int) -> tuple[int, ...]:
    r"""Return where to look first, second, ... ``count``-th for the least expected cost.

    Look next, with :math:`m_i` looks done at place i, where

    .. math:: \frac{p_i \, a_i^{m_i} (1 - a_i)}{c_i}

    is largest (the first of equals). Optimal for independent looks at fixed cost.

    References
    ----------
    W. L. Black, "Discrete sequential search", Information and Control 8(2), 1965,
    159-162; M. C. Chew, "A sequential search procedure", Annals of Mathematical
    Statistics 38(2), 1967, 494-502 (both from memory).

    Examples
    --------
    Own numbers; the second place is seen at once, so it is looked at only once:

    >>> search_order(Search([0.5, 0.5], [0.5, 0.0], [1, 2]), 5)
    (0, 1, 0, 0, 0)
    """
    gains = [p * (1 - a) for p, a in zip(search.chances, search.overlook, strict=True)]
    looks: list[int] = []
    for _ in range(count):
        best = by_ratio(gains, search.costs)[0]
        looks.append(best)
        gains[best] = gains[best] * search.overlook[best]
    return tuple(looks)


def search_cost(search: Search, looks: Sequence[int]) -> tuple[Number, Number]:
    r"""Return the expected cost of these looks, and the chance that all were in vain.

    Looking stops as soon as the fault is seen:

    .. math:: \sum_k c_{i_k} \, P(\text{not seen in the first } k - 1 \text{ looks})

    References
    ----------
    As :func:`search_order`.

    Examples
    --------
    >>> search_cost(Search([0.5, 0.5], [0.5, 0.0], [1, 2]), (0, 1, 0))
    (2.75, 0.125)
    """
    left = list(search.chances)
    rest = 1 - sum(left)
    spent: Number = 0
    for i in looks:
        spent = spent + search.costs[i] * (rest + sum(left))
        left[i] = left[i] * search.overlook[i]
    return spent, rest + sum(left)


def series_order(costs: Sequence[Number], failing: Sequence[Number]) -> tuple[int, ...]:
    r"""Return the order of testing parts in series that costs least until one fails.

    .. math:: c_1 / f_1 \le c_2 / f_2 \le \dots

    Valid for parts that fail independently, each test once, stopping at the first
    failure; the system is good when no part fails.

    References
    ----------
    T. Unluyurt, "Sequential testing of complex systems: a review", Discrete Applied
    Mathematics 142, 2004, 189-205; R. Butterworth, "Some reliability fault-testing
    models", Operations Research 20(2), 1972, 335-343 (both from memory).

    Examples
    --------
    A board of three parts X, Y, Z (management-science exercise, input read):

    >>> series_order([51.75, 2.00, 52.40], [0.125, 0.075, 0.140])
    (1, 2, 0)
    """
    check_chances(failing)
    check_costs(costs, len(failing))
    return by_ratio(failing, costs)


def series_cost(
    costs: Sequence[Number], failing: Sequence[Number], sequence: Sequence[int]
) -> Number:
    r"""Return the expected cost of testing parts in this order until one fails.

    .. math:: \sum_k c_{i_k} \prod_{j<k} (1 - f_{i_j})

    References
    ----------
    As :func:`series_order`.

    Examples
    --------
    >>> round(series_cost([51.75, 2.00, 52.40], [0.125, 0.075, 0.140], (1, 2, 0)), 6)
    91.637125
    """
    total: Number = 0
    good: Number = 1
    for i in sequence:
        total = total + good * costs[i]
        good = good * (1 - failing[i])
    return total
