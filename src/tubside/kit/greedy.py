"""A kit built up in the order in which it pays, and what each part of it earns.

Because a job ends only with all its parts, whole needs are added, never single parts: the
one with the most trips saved for its cost and room comes first. A rule of thumb, nothing is
proven of it; it explains the kit, and the proven one is never worth less.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.kit.problem import Bools, Day, Floats, Ints, fill_rate, served

TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Added:
    """Parts added together (part, units), and the fill rate with them, 0 to 1."""

    units: tuple[tuple[int, int], ...]
    fill_rate: float


@dataclass(frozen=True, slots=True)
class Greedy:
    """The greedy kit: units aboard (P,), and how it grew."""

    units: Ints
    steps: tuple[Added, ...]


@dataclass(frozen=True, slots=True)
class Earns:
    """What one part does for the day.

    Parameters
    ----------
    part
        Its number.
    with_it, without
        Fill rate with the kit and all units of this part, and without any; for a part that
        is not in the kit, with one unit of it and without.
    fits
        Mean chance that it fits, over the jobs and scenarios that need it.
    saves
        Price of the second trips that only it spares [money]; its carrying is not taken off.
    """

    part: int
    with_it: float
    without: float
    fits: float
    saves: float

    @property
    def share(self) -> float:
        """Share of the day's jobs that end only because of it, 0 to 1."""
        return self.with_it - self.without


def greedy_kit(day: Day) -> Greedy:
    """Add the need that saves most for its cost and room, until none pays.

    Jobs are counted as if all earlier ones were served, so none is promised a unit that an
    earlier one may take.
    """
    units, spent = _Units.of(day), float(day.loading.space @ day.loading.aboard)
    have, steps = units.aboard.copy(), []
    while True:
        lacking = units.needed & ~have
        choice = _best(units, lacking, day.loading.room - spent)
        if choice < 0:
            break
        new = lacking[choice]
        have |= new
        spent += float(units.space[new].sum())
        steps.append(np.bincount(units.part[new], minlength=day.needs.shape[2]))
    kit, told = day.loading.aboard.copy(), []
    for more in steps:
        kit = kit + more
        added = tuple((int(part), int(more[part])) for part in np.flatnonzero(more))
        told.append(Added(added, fill_rate(day, kit)))
    return Greedy(kit, tuple(told))


def earnings(day: Day, kit: Ints) -> tuple[Earns, ...]:
    """What each part that somebody may need does for the day, the most useful first."""
    share, saved = day.share(), day.saved()
    wanted = np.flatnonzero(day.needs.any(axis=(0, 1)))
    base = served(day.needs, kit)
    whole = float((base * share).sum())
    found = []
    for part in wanted:
        concerned = day.needs[:, :, part].any(axis=0)
        other = kit.copy()
        other[part] = 0 if kit[part] else 1
        changed = served(day.needs[:, concerned], other)
        more = changed * 1.0 - base[:, concerned]
        rate = whole + float((more * share[:, concerned]).sum())
        saves = float((more * saved[:, concerned]).sum())
        needing = (day.needs[:, :, part] > 0).sum(axis=1)
        fits = float(needing @ day.fit[:, part] / needing.sum())
        pair = (whole, rate) if kit[part] else (rate, whole)
        found.append(Earns(int(part), *pair, fits, -saves if kit[part] else saves))
    return tuple(sorted(found, key=lambda one: (-one.share, one.part)))


@dataclass(frozen=True, slots=True)
class _Units:
    """Single units of parts (U), and the distinct needs (G) in terms of them."""

    part: Ints  # (U,)
    aboard: Bools  # (U,)
    holding: Floats  # (U,)
    space: Floats  # (U,)
    needed: Bools  # (G, U)
    saved: Floats  # (G,)

    @classmethod
    def of(cls, day: Day) -> _Units:
        """Lay out the needs of a day, each after those of the earlier visits."""
        loading = day.loading
        nested = np.where(day.needs > 0, np.cumsum(day.needs, axis=0), 0)
        flat = nested.reshape(-1, nested.shape[2])
        alive = flat.any(axis=1) & (flat <= loading.most).all(axis=1)
        needs, group = np.unique(flat[alive], axis=0, return_inverse=True)
        saved = np.bincount(group.ravel(), day.saved().ravel()[alive], minlength=len(needs))
        most = needs.max(axis=0, initial=0)
        part = np.repeat(np.arange(len(most)), most)
        unit = np.concatenate([np.arange(1, n + 1) for n in most]) if len(part) else part
        return cls(
            part=part,
            aboard=np.asarray(unit <= loading.aboard[part]),
            holding=loading.holding[part],
            space=loading.space[part],
            needed=np.asarray(needs[:, part] >= unit),
            saved=np.asarray(saved, dtype=float),
        )


def _best(units: _Units, lacking: Bools, room: float) -> int:
    """The need whose units pay best, -1 when none pays or fits in."""
    open_needs = np.flatnonzero(lacking.any(axis=1))
    if not len(open_needs):
        return -1
    lack = lacking[open_needs].astype(np.float32)
    covered = lack @ lack.T >= lack.sum(axis=1)[None, :] - 0.5  # (chosen, covered)
    gain = covered @ units.saved[open_needs]
    cost, space = lack @ units.holding, lack @ units.space
    allowed = (space <= room + TINY) & (gain > cost + TINY)
    if not allowed.any():
        return -1
    weight = cost + (space / room * gain.sum() if np.isfinite(room) and room > 0.0 else 0.0)
    value = np.where(allowed, (gain - cost) / (weight + TINY), -np.inf)
    return int(open_needs[np.argmax(value)])
