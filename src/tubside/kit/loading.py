r"""The kit for a day by mixed-integer programme, with what is proven of it.

Over scenarios s of the day, with :math:`x_p` units of part p aboard and :math:`y_{js}`
saying whether job j ends:

.. math::
    \max \frac1S \sum_{s,j} c_j f_{js} y_{js} - \sum_p h_p (x_p - a_p), \quad
    \sum_p v_p x_p \le V, \quad a_p \le x_p \le m_p, \quad
    y_{js} = 1 \iff n_{jsp} \le x_p - \sum_{i<j} n_{isp} y_{is} \text{ for all } p

with c the price of a second trip, f the chance that the parts fit, n the units needed,
h holding cost, v room, a what is aboard and m what can be had. x is whole, y 0 or 1. The
jobs are served in the order of their visits: one that has all it needs is not left for a
later one that nobody knows of yet.

The mean over scenarios stands for the expectation (sample average approximation: Kleywegt,
Shapiro and Homem-de-Mello, "The sample average approximation method for stochastic
discrete optimization", SIAM J. Optim. 12(2), 2002, 479-502; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib.util import find_spec
from typing import Any, cast

import numpy as np

from tubside.errors import KitError
from tubside.kit.cases import Case, cases_of
from tubside.kit.greedy import greedy_kit
from tubside.kit.problem import Day, Ints, worth

GAP = 0.002
"""Gap at which the solver may stop, of its own programme."""
NODES = 2000
"""Nodes of the search after which it stops, so that equal days give equal kits."""
WHOLE = 1e-6


@dataclass(frozen=True, slots=True)
class Kit:
    """Units to have aboard (P,), what they are worth, and what no kit can beat [money]."""

    units: Ints
    worth: float
    bound: float

    @property
    def gap(self) -> float:
        """By how much the best kit could be worth more, of the bound: 0 is proven best."""
        return max(0.0, (self.bound - self.worth) / self.bound) if self.bound > 0.0 else 0.0


_Row = dict[int, float]
"""Column -> its factor in a sum."""
_Terms = tuple[_Row, float]
"""A sum and a constant."""
_Columns = dict[tuple[int, int], int]
"""(part, n-th unit) -> the column that says whether it is loaded."""


@dataclass(frozen=True, slots=True)
class _Have:
    """The columns of a part's units that may be loaded, and how many lie aboard."""

    loaded: _Row
    aboard: int


@dataclass(slots=True)
class _Programme:
    """Columns and rows of the programme while they are written."""

    gain: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[_Terms] = field(default_factory=list)

    def column(self, gain: float, *, whole: bool) -> int:
        """A column from 0 to 1; its number."""
        self.gain.append(gain)
        self.whole.append(whole)
        return len(self.gain) - 1

    def at_most(self, terms: _Row, limit: float) -> None:
        """One row: the sum of terms is at most the limit."""
        self.rows.append((terms, limit))


def best_kit(day: Day, gap: float = GAP, nodes: int = NODES) -> Kit:
    """The kit that saves most, proven within the gap where the nodes suffice.

    Parameters
    ----------
    day
        The jobs and what can be loaded.
    gap
        Relative gap at which the search may stop.
    nodes
        The most nodes of the search.

    Raises
    ------
    KitError
        When the solver is not installed.
    """
    if find_spec("highspy") is None:
        msg = "the kit needs more packages; install them with: pip install 'tubside[app]'"
        raise KitError(msg)
    cases, nothing = cases_of(day)
    programme, units = _written(day, cases)
    found, bound = _solved(programme, gap, nodes)
    kit = day.loading.aboard.copy()
    for (part, _), column in units.items():
        kit[part] += found[column] > 0.5
    kits = [_trimmed(day, kit), greedy_kit(day).units]
    best = max(kits, key=lambda units: worth(day, units))
    value = worth(day, best)
    return Kit(best, value, max(bound + nothing, value))


def _written(day: Day, cases: list[Case]) -> tuple[_Programme, _Columns]:
    """The programme, and the column of each unit (part, n-th unit)."""
    programme, loading = _Programme(), day.loading
    units: _Columns = {}
    for part, most in enumerate(_useful(day)):
        for unit in range(int(loading.aboard[part]) + 1, int(most) + 1):
            column = programme.column(-float(loading.holding[part]), whole=True)
            units[part, unit] = column
            if (part, unit - 1) in units:
                programme.at_most({column: 1.0, units[part, unit - 1]: -1.0}, 0.0)
    if np.isfinite(loading.room):
        room = {column: float(loading.space[part]) for (part, _), column in units.items()}
        programme.at_most(room, loading.room - float(loading.space @ loading.aboard))
    for case in cases:
        _write_case(programme, units, case, loading.aboard)
    return programme, units


def _useful(day: Day) -> Ints:
    """The most units of each part that can serve anybody (P,)."""
    wanted = day.needs.sum(axis=0).max(axis=0)
    return np.asarray(np.minimum(wanted, day.loading.most))


def _write_case(programme: _Programme, units: _Columns, case: Case, aboard: Ints) -> None:
    """Jobs one after the other: each ends with every unit it needs, and then uses them."""
    used: dict[int, dict[int, float]] = {}
    last = len(case.needs) - 1
    for turn, (need, saved) in enumerate(zip(case.needs, case.saved, strict=True)):
        ends = programme.column(saved, whole=len(case.needs) > 1)
        lacks: list[_Terms] = []
        for part, number in need:
            loaded = [column for (one, _), column in units.items() if one == part]
            have = _Have(dict.fromkeys(loaded, 1.0), int(aboard[part]))
            if part in used:
                lacks.append(_lacks_after(programme, have, used[part], (ends, number)))
            elif (part, number) in units:
                column = units[part, number]
                programme.at_most({ends: 1.0, column: -1.0}, 0.0)
                lacks.append(({column: -1.0}, 1.0))
            used.setdefault(part, {})[ends] = float(number)
        if turn < last:
            _must_end(programme, ends, lacks)


def _lacks_after(programme: _Programme, have: _Have, used: _Row, job: tuple[int, int]) -> _Terms:
    """Whether earlier jobs leave too few units: a column that is 1 only if they do."""
    ends, number = job
    lacks = programme.column(0.0, whole=True)
    taken = {column: -one for column, one in have.loaded.items()} | used
    programme.at_most(taken | {ends: float(number)}, float(have.aboard))
    most = float(have.aboard + len(have.loaded))
    left = have.loaded | {column: -one for column, one in used.items()}
    programme.at_most(left | {lacks: most}, number - 1.0 + most - have.aboard)
    return {lacks: 1.0}, 0.0


def _must_end(programme: _Programme, ends: int, lacks: list[_Terms]) -> None:
    """A job that lacks nothing ends, also where its units would serve a later one better."""
    row, limit = {ends: -1.0}, -1.0
    for terms, constant in lacks:
        row |= {column: -one for column, one in terms.items()}
        limit += constant
    programme.at_most(row, limit)


def _solved(programme: _Programme, gap: float, nodes: int) -> tuple[list[float], float]:
    """The columns, and the bound on what they gain."""
    if not programme.gain:
        return [], 0.0
    import highspy  # noqa: PLC0415  # heavy, and only kits need it

    # Highs itself prints its name when it is made; what it is built on does not
    solver: Any = cast("type[Any]", highspy.Highs.__base__)()
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 0),
        ("mip_rel_gap", gap),
        ("mip_max_nodes", nodes),
    ):
        solver.setOptionValue(name, value)
    solver.passModel(_model(highspy, programme))
    solver.run()
    info = solver.getInfo()
    return list(solver.getSolution().col_value), float(info.mip_dual_bound)


def _model(highspy: Any, programme: _Programme) -> Any:  # noqa: ANN401  # the solver's stubs are partial
    """The programme as the solver's model."""
    columns, rows = len(programme.gain), len(programme.rows)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = columns, rows
    model.sense_ = highspy.ObjSense.kMaximize
    model.col_cost_ = np.array(programme.gain)
    model.col_lower_, model.col_upper_ = np.zeros(columns), np.ones(columns)
    kinds = {True: highspy.HighsVarType.kInteger, False: highspy.HighsVarType.kContinuous}
    model.integrality_ = [kinds[whole] for whole in programme.whole]
    model.row_lower_ = np.full(rows, -np.inf)
    model.row_upper_ = np.array([limit for _, limit in programme.rows])
    lengths = [len(terms) for terms, _ in programme.rows]
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int32)
    model.a_matrix_.index_ = np.array([c for terms, _ in programme.rows for c in terms], np.int32)
    model.a_matrix_.value_ = np.array([v for terms, _ in programme.rows for v in terms.values()])
    return model


def _trimmed(day: Day, kit: Ints) -> Ints:
    """The kit without units that cost as much as they save, dearest first."""
    loading, kit = day.loading, kit.copy()
    value = worth(day, kit)
    for part in sorted(np.flatnonzero(kit > loading.aboard), key=lambda p: -loading.holding[p]):
        kit[part] -= 1
        less = worth(day, kit)
        if less >= value - WHOLE and loading.holding[part] > 0.0:
            value = less
        else:
            kit[part] += 1
    return kit
