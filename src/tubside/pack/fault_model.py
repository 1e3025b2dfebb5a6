"""What a pack compiles into: plain arrays, no names needed to compute.

Index conventions, used everywhere below: ``n`` causes, ``c`` conditions in the
order in which they show (stage, then rank), ``k`` outcomes of a finding,
``v`` values of a variant axis. Observers are 0 = customer, 1 = technician.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

CUSTOMER, TECHNICIAN = 0, 1
OBSERVERS = ("customer", "technician")
HEALTHY_IDS = ("nothing-wrong", "cleared-itself")
HOW_OFTEN = ("every-time", "sometimes", "once")


@dataclass(frozen=True, slots=True)
class Axis:
    """One variant axis: share of each value and which causes live on it."""

    shares: Floats  # (v,) now; reweighed by answers, not necessarily summing to one
    members: Ints  # causes that depend on this axis
    applies: Bools  # (members, v)
    member_share: Floats  # (members,) share of machines the cause can be in, before any answer


@dataclass(frozen=True, slots=True)
class Prior:
    """Odds of causes and how they combine into sets (see :mod:`tubside.pack.prior`)."""

    odds: Floats  # (n,)
    healthy: Floats  # (2,) P(nothing wrong), P(cleared by itself)
    axes: tuple[Axis, ...]
    leads: tuple[tuple[int, int, float], ...]  # (leader, follower, factor on the pair)


@dataclass(frozen=True, slots=True)
class Complaint:
    """How a call is reported, given the causes (see :mod:`tubside.pack.complaint`)."""

    q: Floats  # (n, c) noisy-OR weights
    leak: Floats  # (c,)
    said: Floats  # (c, c) P(said | first condition), rows sum to one
    healthy: Floats  # (2, c) first condition when no cause is left, rows sum to one
    stopping: Bools  # (c,)
    stage: Ints  # (c,) main stage
    at_stage: Floats  # (c, stages) P(stage named | first condition)
    fit: Floats  # (n, c) the model's own P(said | cause alone)
    table: Floats  # (n, c) what the pack says


@dataclass(frozen=True, slots=True)
class Finding:
    """P(outcome | healthy) and rows of the causes that alter it."""

    healthy: Floats  # (k,)
    touched: Ints  # (m,) causes, for kinds in order of dominance
    rows: Floats  # (m, k)
    graded: bool
    needs_fault: bool


@dataclass(frozen=True, slots=True)
class Reading:
    """A number to be measured: of what, how well by each observer, and in which unit.

    A value in SI is ``slope`` times the number in ``unit``, plus ``shift``. The error
    has two parts, standard deviations: a share of the value, and one in SI units.
    Beyond ``most`` [SI] nobody goes on measuring, or the instrument shows no more.
    """

    quantity: str
    unit: str
    slope: float
    shift: float
    share: tuple[float, float]
    plain: tuple[float, float]
    most: float
    needs_fault: bool
    spoiled_by: tuple[tuple[int, float], ...] = ()  # (cause, chance that it shows anything)


Signature = tuple[int, ...]
"""Which causes alter a quantity, as bits over :meth:`Predicting.touching`: those there
when it is measured, then those cleared by each remedy before, zeros at the end left out."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What a sound machine has [SI]: its middle and how much machines differ."""

    middle: float
    spread: float

    @property
    def size(self) -> float:
        """A length on the scale of the quantity, above zero [SI]."""
        return max(abs(self.middle), self.spread, 1e-30)

    @property
    def unit(self) -> float:
        """Densities are told per this much [SI], so that they are near one."""
        return max(self.spread, 0.05 * self.size)


class Predicting(Protocol):
    """What a quantity comes to on D machines of the family, the same D for every quantity."""

    def touching(self, quantity: str) -> Ints:
        """Return the causes that alter the quantity: (m,)."""

    def needs(self, quantity: str) -> frozenset[str]:
        """Return the parameters it depends on that are not the same on every machine."""

    def values(self, quantity: str, signatures: Sequence[Signature]) -> tuple[Floats, Floats]:
        """Return the values [SI] and how finely the draws resolve them [SI]: both (U, D).

        Infinite: it never comes; nan: there is nothing to be measured.
        """

    def usual(self, quantity: str) -> Usual:
        """Return what a sound machine has."""


@dataclass(frozen=True, slots=True)
class Check:
    """One way to look at a finding (``finding`` >= 0), settle an axis, or read a number."""

    finding: int
    axis: int
    minutes: float
    phone: bool
    site: bool
    by: tuple[int, ...]
    error: tuple[float, float]
    cover: int
    needs: tuple[tuple[int, Bools], ...]
    stage: int = -1  # the stage that must run for it
    reading: Reading | None = None


@dataclass(frozen=True, slots=True)
class Remedy:
    """What a remedy clears, by observer: (2, n); ``nan`` row where nobody may do it."""

    clears: Floats
    minutes: float
    rerun_minutes: float
    phone: bool
    site: bool
    by: tuple[int, ...]
    cover: int
    parts: tuple[int, ...]
    needs: tuple[tuple[int, Bools], ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """``refer`` pays ``cost`` and clears the causes of its trade; others end the job."""

    kind: str
    cost: float
    clears: Bools  # (n,)
    up_to_years: float


@dataclass(frozen=True, slots=True)
class Costs:
    """Resource cost to both sides [dollars, minutes, days, years]."""

    technician_minute: float
    customer_minute: float
    visit: float
    second_visit: float
    waiting_day: float
    part_wait_days: float
    callback: float
    replacement: float
    disposal: float
    life_shape: float
    life_scale_years: float
    booking_days: float = 2.0
    restocking_share: float = 0.2


TIMES, PLUS, TO = 0, 1, 2
"""How a cause moves a parameter: multiplied, added to, or set."""


@dataclass(frozen=True, slots=True)
class Move:
    """What a cause does to one parameter; numbers in SI units.

    With TIMES the factor is log-normal: ``value`` its median, ``spread`` the standard
    deviation of its logarithm. With PLUS and TO it is normal: mean and standard deviation.
    In a ``share`` of the machines with the cause it happens, in the others it does not.
    """

    cause: int
    parameter: int
    how: int
    value: float
    spread: float
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Machine:
    """The machine of a family on its site: each parameter's distribution, and the moves.

    Draws are clipped to ``low`` and ``high``. Moves stand in the order of the pack.
    """

    parameters: tuple[str, ...]  # (p,) all of PARAMETERS, in its order
    middle: Floats  # (p,) SI; the median if logarithmic, else the mean
    spread: Floats  # (p,) standard deviation of the logarithm, or in SI units
    logarithmic: Bools  # (p,)
    low: Floats  # (p,)
    high: Floats  # (p,)
    moves: tuple[Move, ...]
    controller: dict[str, float]  # SI
    constants: dict[str, float] = field(default_factory=dict)
    """What a model's sheet puts in place of a formula's own constant [SI]."""


@dataclass(frozen=True, slots=True)
class Names:
    """Ids in index order; only the edges use them."""

    causes: tuple[str, ...]
    conditions: tuple[str, ...]
    stages: tuple[str, ...]
    findings: tuple[str, ...]
    outcomes: tuple[tuple[str, ...], ...]
    axes: tuple[str, ...]
    values: tuple[tuple[str, ...], ...]
    checks: tuple[str, ...]
    remedies: tuple[str, ...]
    stops: tuple[str, ...]
    parts: tuple[str, ...]
    covers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaultModel:
    """Everything the belief and the next step need, as arrays."""

    digest: str
    names: Names
    prior: Prior
    complaint: Complaint
    shows: Floats  # (n,) chance of showing on one run
    healthy_rerun_fails: Floats  # (2,)
    healthy_how_often: Floats  # (2, 3)
    age_factor: Floats  # (n, years)
    findings: tuple[Finding, ...]
    checks: tuple[Check, ...]
    remedies: tuple[Remedy, ...]
    stops: tuple[Stop, ...]
    part_price: Floats
    part_carried: Bools
    cover_minutes: Floats  # (covers,) open + close
    costs: Costs
    repeat_errs_same: float
    stage_right: float
    leads_to: tuple[tuple[int, int, float], ...]
    gates: Bools | None = None  # (stages,) stages whose failure keeps later ones from running
    observer_error: tuple[float, float] = (0.08, 0.02)
    machine: Machine | None = None
    predicting: Predicting | None = None

    @property
    def n_causes(self) -> int:
        """Number of causes."""
        return len(self.names.causes)
