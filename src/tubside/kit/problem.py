"""The parts of a day as numbers: what each job may need, and what a unit costs to load.

J jobs in the order of their visits, S scenarios of the whole day, P parts. A part is a
numbered article; which article serves a part kind on a machine is settled before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.errors import KitError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Loading:
    """What can be loaded of each part, and what a unit costs.

    Parameters
    ----------
    aboard
        Units that lie on the van and stay there (P,).
    most
        Units that can be aboard when it leaves, those aboard included (P,).
    holding
        What one more unit costs for the day: handling, money tied up, breakage (P,) [money].
    space
        Room that one unit takes (P,) [any unit of room].
    room
        Room on the van, those aboard included [the same unit]; infinite: no limit.
    """

    aboard: Ints
    most: Ints
    holding: Floats
    space: Floats
    room: float = np.inf

    def __post_init__(self) -> None:
        shapes = {part.shape for part in (self.aboard, self.most, self.holding, self.space)}
        if len(shapes) != 1 or self.aboard.ndim != 1:
            msg = "aboard, most, holding and space have one number a part each"
            raise KitError(msg)
        if (self.aboard < 0).any() or (self.most < self.aboard).any():
            msg = "at least as many units can be aboard as lie there, and none below nought"
            raise KitError(msg)
        numbers = np.concatenate([self.holding, self.space])
        if not (np.isfinite(numbers).all() and (numbers >= 0.0).all()):
            msg = "a unit's cost and room are finite and not below nought"
            raise KitError(msg)
        if not self.room >= float(self.space @ self.aboard):
            msg = "what is aboard takes more room than there is; take something out or give more"
            raise KitError(msg)


@dataclass(frozen=True, slots=True)
class Day:
    """The jobs of a day.

    Parameters
    ----------
    needs
        Units of each part that each job needs to end in each scenario (J, S, P).
    trip
        What it costs when a job does not end on this visit (J,) [money].
    fit
        Chance that the article fits that job's machine (J, P), 0 to 1.
    loading
        What can be loaded.
    """

    needs: Ints
    trip: Floats
    fit: Floats
    loading: Loading

    def __post_init__(self) -> None:
        if self.needs.ndim != 3 or min(self.needs.shape[:2], default=0) == 0:
            msg = "a kit needs at least one job and one scenario of what it may need"
            raise KitError(msg)
        jobs, _, parts = self.needs.shape
        if self.trip.shape != (jobs,) or self.fit.shape != (jobs, parts):
            msg = "the price of a second trip is given for each job, a fit for each job and part"
            raise KitError(msg)
        if self.loading.aboard.shape != (parts,) or (self.needs < 0).any():
            msg = "needs are whole units of the parts that can be loaded, none below nought"
            raise KitError(msg)
        fits = ((self.fit >= 0.0) & (self.fit <= 1.0)).all()
        if not (fits and np.isfinite(self.trip).all() and (self.trip >= 0.0).all()):
            msg = "a fit is a chance from 0 to 1, a trip costs nothing or more"
            raise KitError(msg)

    def fitting(self) -> Floats:
        """Chance that all that a job needs fits, by job and scenario (J, S).

        Fits of different articles are taken as independent (common practice, no source);
        two units of one article fit both or not at all.
        """
        chance = np.where(self.needs > 0, self.fit[:, None, :], 1.0)
        return np.asarray(chance.prod(axis=2))

    def share(self) -> Floats:
        """Each job's share of the day's fill rate, by scenario (J, S): sums to the most."""
        jobs, scenarios = self.needs.shape[:2]
        return np.asarray(self.fitting() / (jobs * scenarios))

    def saved(self) -> Floats:
        """Money saved by a job that ends, by job and scenario, over the scenarios (J, S)."""
        return np.asarray(self.trip[:, None] * self.fitting() / self.needs.shape[1])


def served(needs: Ints, kit: Ints) -> Bools:
    """Which jobs have all parts that they need, visited in their order: (J, S).

    All or nothing: a job that lacks one part uses none, so that they stay for the next.

    Parameters
    ----------
    needs
        Units needed (J, S, P).
    kit
        Units aboard in the morning (P,).
    """
    jobs, scenarios, parts = needs.shape
    left = np.broadcast_to(kit, (scenarios, parts)).copy()
    ends = np.zeros((jobs, scenarios), dtype=bool)
    for job in range(jobs):
        ends[job] = (needs[job] <= left).all(axis=1)
        left -= needs[job] * ends[job][:, None]
    return ends


def fill_rate(day: Day, kit: Ints) -> float:
    """Mean share of the day's jobs that end on this visit with these parts aboard, 0 to 1."""
    return float((served(day.needs, kit) * day.share()).sum())


def worth(day: Day, kit: Ints) -> float:
    """Trips saved less what the units beyond those aboard cost [money]."""
    saved = float((served(day.needs, kit) * day.saved()).sum())
    return saved - float(day.loading.holding @ (kit - day.loading.aboard))
