r"""What a check is worth before it is made: in money, and in bits.

Shapes: ``n`` hypotheses (one of them is true), ``k`` outcomes of a check, ``d``
decisions. A *table* (n, k) holds P(outcome | hypothesis), rows sum to one. *Payoffs*
(n, d) hold what a decision brings under a hypothesis [money]; for costs give the
negative. Nothing here ranks checks by bits: bits explain, money decides.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

ROUNDING = 1e-9


def predictive(prior: Floats, table: Floats) -> Floats:
    r"""Return the chance of each outcome before the check is made: (k,).

    .. math:: P(o) = \sum_h P(h) \, P(o \mid h)

    Raises
    ------
    ValueError
        If prior or table rows are negative, do not sum to one, or differ in length.

    Examples
    --------
    A used car with defect chance .3; the test says fine, defects or inconclusive (Jensen
    & Nielsen 2007, exercise; input read, answers recomputed):

    >>> car = np.array([0.7, 0.3])
    >>> test = np.array([[0.8, 0.05, 0.15], [0.05, 0.75, 0.2]])
    >>> predictive(car, test).round(3).tolist()
    [0.575, 0.26, 0.165]
    """
    return np.asarray(joint(prior, table).sum(axis=0))


def posterior(prior: Floats, table: Floats, outcome: int) -> Floats:
    r"""Return the chance of each hypothesis after one outcome: (n,).

    .. math:: P(h \mid o) = P(h) \, P(o \mid h) / P(o)

    Raises
    ------
    ValueError
        If the outcome is impossible under every hypothesis, or as :func:`predictive`.

    References
    ----------
    T. Bayes 1763; here as in D. J. C. MacKay, *Information Theory, Inference, and
    Learning Algorithms*, Cambridge University Press 2003, section 2.2, p. 25.

    Examples
    --------
    >>> car = np.array([0.7, 0.3])
    >>> test = np.array([[0.8, 0.05, 0.15], [0.05, 0.75, 0.2]])
    >>> [round(float(posterior(car, test, o)[1]), 4) for o in range(3)]
    [0.0261, 0.8654, 0.3636]
    """
    both = joint(prior, table)[:, outcome]
    total = both.sum()
    if total <= 0:
        msg = f"outcome {outcome} is impossible under every hypothesis; check the table"
        raise ValueError(msg)
    return np.asarray(both / total)


def joint(prior: Floats, table: Floats) -> Floats:
    """Return P(hypothesis and outcome): (n, k).

    Raises
    ------
    ValueError
        As :func:`predictive`.
    """
    _check_rows(np.asarray(prior)[None, :], "the prior")
    _check_rows(np.asarray(table), "a row of the table")
    if len(prior) != len(table):
        msg = f"{len(prior)} hypotheses but {len(table)} rows; give one row for each hypothesis"
        raise ValueError(msg)
    return np.asarray(prior)[:, None] * table


def entropy(chances: Floats) -> float:
    r"""Return the uncertainty of a distribution [bit].

    .. math:: H = -\sum_i p_i \log_2 p_i

    References
    ----------
    C. E. Shannon, "A mathematical theory of communication", Bell System Technical
    Journal 27, 1948, section 6 (from memory).

    Examples
    --------
    >>> entropy(np.full(64, 1 / 64))
    6.0
    """
    some = chances[chances > 0]
    return float(-(some * np.log2(some)).sum()) + 0.0


def surprise(chance: float) -> float:
    r"""Return what learning an event of this chance tells: :math:`-\log_2 p` [bit].

    References
    ----------
    D. J. C. MacKay 2003, section 4.1 (h(x), page 71 read).

    Examples
    --------
    The last shot of the submarine game, one square of 16 left:

    >>> surprise(1 / 16)
    4.0
    """
    if not 0 < chance <= 1:
        msg = f"{chance} is no chance of something that happened; give more than 0, at most 1"
        raise ValueError(msg)
    return float(-np.log2(chance)) + 0.0


def information_gain(prior: Floats, table: Floats) -> float:
    r"""Return the expected fall of uncertainty by a check [bit].

    .. math:: I = \sum_{h,o} P(h, o) \log_2 \frac{P(h, o)}{P(h) P(o)}
              = H(\text{prior}) - \sum_o P(o) \, H(P(\cdot \mid o))

    Never negative. It says how much a check tells, not what it is worth: the most telling
    check first can be dearer than no check at all.

    References
    ----------
    D. V. Lindley, "On a measure of the information provided by an experiment", Annals
    of Mathematical Statistics 27(4), 1956, 986-1005 (from memory).

    Examples
    --------
    >>> car = np.array([0.7, 0.3])
    >>> round(information_gain(car, np.array([[0.8, 0.05, 0.15], [0.05, 0.75, 0.2]])), 4)
    0.4768
    >>> round(information_gain(car, np.array([[0.8, 0.2], [0.25, 0.75]])), 4)
    0.198
    """
    both = joint(prior, table)
    apart = np.asarray(prior)[:, None] * both.sum(axis=0)
    some = both > 0
    return max(0.0, float((both[some] * np.log2(both[some] / apart[some])).sum()))


def value_now(prior: Floats, payoffs: Floats) -> float:
    r"""Return the expected payoff of the best decision without any check [money].

    .. math:: \max_d \sum_h P(h) \, U(h, d)

    Examples
    --------
    The oil wildcatter: dry, wet, soaking; drill or leave it (see :func:`evsi`):

    >>> wells = np.array([0.5, 0.3, 0.2])
    >>> money = np.array([[-70.0, 0.0], [50.0, 0.0], [200.0, 0.0]])
    >>> round(value_now(wells, money), 9)
    20.0
    """
    return float((np.asarray(prior) @ payoffs).max())


def evpi(prior: Floats, payoffs: Floats) -> float:
    r"""Return the expected value of perfect information: what knowing h would bring [money].

    .. math:: \sum_h P(h) \max_d U(h, d) - \max_d \sum_h P(h) \, U(h, d)

    An upper bound on the worth of every check.

    References
    ----------
    H. Raiffa, *Decision Analysis*, Addison-Wesley 1968; R. A. Howard, "Information value
    theory", IEEE Trans. Systems Science and Cybernetics 2(1), 1966, 22-26 (from memory).

    Examples
    --------
    >>> wells = np.array([0.5, 0.3, 0.2])
    >>> round(evpi(wells, np.array([[-70.0, 0.0], [50.0, 0.0], [200.0, 0.0]])), 9)
    35.0
    """
    return float(np.asarray(prior) @ payoffs.max(axis=1)) - value_now(prior, payoffs)


def value_with(prior: Floats, table: Floats, payoffs: Floats) -> float:
    r"""Return the expected payoff when the decision waits for a free check [money].

    .. math:: \sum_o \max_d \sum_h P(h) \, P(o \mid h) \, U(h, d)
    """
    return float((joint(prior, table).T @ payoffs).max(axis=1).sum())


def evsi(prior: Floats, table: Floats, payoffs: Floats) -> float:
    r"""Return the expected value of sample information of a check, its cost apart [money].

    .. math:: \mathrm{EVSI} = \sum_o \max_d \sum_h P(h) \, P(o \mid h) \, U(h, d)
              - \max_d \sum_h P(h) \, U(h, d)

    Between 0 and :func:`evpi`. The check pays when this is more than it costs.

    References
    ----------
    H. Raiffa & R. Schlaifer, *Applied Statistical Decision Theory*, Harvard 1961 (from
    memory). Example: H. Raiffa 1968 and P. P. Shenoy, "Valuation-based systems for Bayesian
    decision analysis", Operations Research 40(3), 1992, 463-484 (table read).

    Examples
    --------
    The oil wildcatter's seismic test (closed, open, diffuse), which costs 10:

    >>> wells = np.array([0.5, 0.3, 0.2])
    >>> seismic = np.array([[0.1, 0.3, 0.6], [0.3, 0.4, 0.3], [0.5, 0.4, 0.1]])
    >>> money = np.array([[-70.0, 0.0], [50.0, 0.0], [200.0, 0.0]])
    >>> round(evsi(wells, seismic, money), 9)
    12.5
    >>> round(value_with(wells, seismic, money) - 10, 9)
    22.5
    """
    return max(0.0, value_with(prior, table, payoffs) - value_now(prior, payoffs))


def _check_rows(rows: Floats, what: str) -> None:
    if (rows < 0).any() or (np.abs(rows.sum(axis=1) - 1) > ROUNDING).any():
        msg = f"{what} has a negative entry or does not sum to 1; give chances that sum to 1"
        raise ValueError(msg)
