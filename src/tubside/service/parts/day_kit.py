"""The kit for a day: which of the shop's parts to load, and what each of them does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from tubside.kit.draws import together
from tubside.kit.greedy import earnings, greedy_kit
from tubside.kit.loading import Kit, best_kit
from tubside.kit.problem import Day, Ints, Loading, fill_rate, served
from tubside.pack.fault_model import Costs
from tubside.service.library import Library
from tubside.service.parts.articles import serves
from tubside.service.parts.fitting import fit_chance
from tubside.service.parts.job_needs import DayJob, jobs_needing
from tubside.service.parts.moving import VAN, WORKSHOP
from tubside.service.parts.shelf import Shelved, shelf_in
from tubside.service.unseen import serial_of
from tubside.service.views import JobView
from tubside.store import parts as kept
from tubside.store.opening import Store
from tubside.store.parts import FitRow

SCENARIOS, SEED = 400, 1
HANDLING, TIED_UP = 0.25, 0.001
"""What loading a unit costs for a day: handling [money], and a share of its price (common
practice, no source)."""
PLENTY = 9
LEAST_TOLD = 0.005
"""Share of the day's jobs below which a part is not worth a line."""


@dataclass(frozen=True, slots=True)
class KitLine:
    """A part of the day: how many lie on the van, how many to load, and what it earns.

    ``with_it`` and ``without`` are fill rates of the day, 0 to 1; ``fits`` the mean chance
    that it fits. ``number`` is "" for a part kind of which the shop has no article.
    ``saves`` is what it saves in second trips, and ``carry`` what all units to load cost
    to carry, or one unit where none is loaded; both for the day [money].
    """

    number: str
    title: str
    aboard: int
    load: int
    with_it: float
    without: float
    fits: float
    can_be_had: int
    saves: float
    carry: float

    @property
    def share(self) -> float:
        """Share of the day's jobs that end only because of it."""
        return self.with_it - self.without


@dataclass(frozen=True, slots=True)
class KitJob:
    """A job of the day: the chance that it ends on this visit, None where nothing is known."""

    id: str
    label: str
    chance: float | None
    without_kit: float | None
    trip: float | None
    """What a second trip would cost, with the wait for parts [money]."""


@dataclass(frozen=True, slots=True)
class DayKit:
    """What to load: lines to load first, then what lies aboard and is needed, then what lacks.

    ``in_order`` tells how the fill rate grows as parts are added by the greedy order.
    ``gap`` is how much more the best kit could be worth at most, as a share.
    """

    van: str
    jobs: tuple[KitJob, ...]
    lines: tuple[KitLine, ...]
    lacking: tuple[KitLine, ...]
    fill_rate: float
    as_it_stands: float
    gap: float
    in_order: tuple[tuple[str, float], ...]

    @property
    def trips(self) -> tuple[float, float]:
        """The cheapest and the dearest second trip of the day [money]."""
        told = [job.trip for job in self.jobs if job.trip is not None]
        return min(told), max(told)


@dataclass(frozen=True, slots=True)
class _Column:
    """One part of the problem: an article, or a part kind without any."""

    number: str
    title: str
    aboard: int
    most: int
    holding: float
    room: float


def day_kit(
    store: Store,
    library: Library,
    jobs: Sequence[JobView | str],
    van: tuple[str, float],
    now: datetime,
) -> DayKit | None:
    """The kit for these jobs in the order of their visits; None when nothing is known of any.

    Parameters
    ----------
    jobs
        Jobs, or their ids.
    van
        The van's name, and the room on it (infinite: no limit).

    Raises
    ------
    NotThereError
        When there is no such job.
    KitError
        When what lies on the van takes more room than it has.
    """
    told = jobs_needing(store, library, jobs, now)
    known = [job for job in told if job.needs.sets]
    if not known:
        return None
    with store.reading() as opened:
        parts, fits = shelf_in(opened), kept.fits(opened)
    columns, day = _day(known, parts, fits, van)
    kit = best_kit(day)
    chances = _chances(day, kit.units), _chances(day, day.loading.aboard)
    return DayKit(
        van=van[0],
        jobs=tuple(_job(job, known, chances) for job in told),
        lines=_lines(day, kit, columns),
        lacking=_lacking(day, kit, columns),
        fill_rate=fill_rate(day, kit.units),
        as_it_stands=fill_rate(day, day.loading.aboard),
        gap=kit.gap,
        in_order=_in_order(day, columns),
    )


def _day(
    jobs: Sequence[DayJob], parts: list[Shelved], fits: list[FitRow], van: tuple[str, float]
) -> tuple[list[_Column], Day]:
    columns: dict[str, tuple[int, _Column]] = {}
    needs, fit_of = [], []
    for job in jobs:
        chosen = {kind: _column(job.view, kind, parts, fits, van[0]) for kind in _kinds(job)}
        for column, _ in chosen.values():
            columns.setdefault(column.number or column.title, (len(columns), column))
        place = {kind: columns[c.number or c.title][0] for kind, (c, _) in chosen.items()}
        needs.append([_units(need, place) for need in job.needs.sets or ()])
        fit_of.append({place[kind]: fit for kind, (_, fit) in chosen.items()})
    listed = [column for _, column in columns.values()]
    fit = np.ones((len(jobs), len(listed)))
    for row, told in enumerate(fit_of):
        for part, chance in told.items():
            fit[row, part] = chance
    trip = np.array([_trip(job.view) for job in jobs])
    return listed, Day(
        together(needs, len(listed), SCENARIOS, SEED), trip, fit, _loading(listed, van[1])
    )


def _kinds(job: DayJob) -> list[str]:
    return sorted({kind for need in job.needs.sets or () for kind in need})


def _units(need: Sequence[str], place: dict[str, int]) -> dict[int, int]:
    units: dict[int, int] = {}
    for kind in need:
        units[place[kind]] = units.get(place[kind], 0) + 1
    return units


def _loading(columns: list[_Column], room: float) -> Loading:
    aboard = np.array([c.aboard for c in columns], dtype=np.int64)
    most = np.array([c.most for c in columns], dtype=np.int64)
    holding = np.array([c.holding for c in columns], dtype=float)
    return Loading(aboard, most, holding, np.array([c.room for c in columns], dtype=float), room)


def _column(
    view: JobView, kind: str, parts: list[Shelved], fits: list[FitRow], van: str
) -> tuple[_Column, float]:
    """The article to take for a part kind on this machine, and the chance that it fits.

    The likeliest to fit of those that can be had; what nobody stocks is as the pack says:
    on every van, or on none.
    """
    assert view.known is not None
    pack = view.known.pack
    found = []
    for one in parts:
        if serves(one.article, pack.family, kind):
            said = [row for row in fits if row.part == one.article.number]
            column = _of_article(one, van)
            what, serial = (column.number, kind), serial_of(view.entries)
            chance = fit_chance(said, view.known.panel, pack.family, what, serial)
            found.append((chance, column.most > 0, column))
    fitting = [one for one in found if one[0] > 0.0]
    if not fitting:
        carried = PLENTY * (pack.parts[kind].carried and not found)
        title = pack.parts[kind].title
        return _Column("", title, carried, carried, 0.0, 0.0), 1.0
    best = max(fitting, key=lambda one: (one[1], one[0], -one[2].holding, one[2].number))
    return best[2], best[0]


def _of_article(one: Shelved, van: str) -> _Column:
    aboard = max(one.held.get(VAN + van, 0), 0)
    price = one.offers[0].price / 100.0 if one.offers else 0.0
    return _Column(
        number=one.article.number,
        title=one.article.title,
        aboard=aboard,
        most=aboard + max(one.held.get(WORKSHOP, 0), 0),
        holding=HANDLING + TIED_UP * price,
        room=one.article.room,
    )


def _trip(view: JobView) -> float:
    """What it costs when the job does not end on this visit: the way and the wait [money]."""
    assert view.known is not None
    costs: Costs = view.known.model.costs
    return costs.second_visit + costs.waiting_day * costs.part_wait_days


def _chances(day: Day, units: Ints) -> list[float]:
    ends = served(day.needs, units) * day.fitting()
    return [float(chance) for chance in ends.mean(axis=1)]


def _job(job: DayJob, known: Sequence[DayJob], chances: tuple[list[float], list[float]]) -> KitJob:
    if not job.needs.sets:
        return KitJob(job.view.id, job.label, None, None, None)
    row = next(n for n, one in enumerate(known) if one is job)
    trip = _trip(job.view)
    return KitJob(job.view.id, job.label, chances[0][row], chances[1][row], trip)


def _lines(day: Day, kit: Kit, columns: list[_Column]) -> tuple[KitLine, ...]:
    """Parts to load first, then those that lie aboard and may be needed."""
    told = [line for line in _earned(day, kit, columns) if line.load or line.aboard]
    useful = [line for line in told if line.number and (line.load or line.share >= LEAST_TOLD)]
    return tuple(sorted(useful, key=lambda line: (line.load == 0, -line.share, line.number)))


def _lacking(day: Day, kit: Kit, columns: list[_Column]) -> tuple[KitLine, ...]:
    """Parts that would help and are not in the kit: to be ordered, or not worth loading."""
    told = [line for line in _earned(day, kit, columns) if not (line.load or line.aboard)]
    return tuple(line for line in told if line.share >= LEAST_TOLD)


def _earned(day: Day, kit: Kit, columns: list[_Column]) -> list[KitLine]:
    found = []
    for one in earnings(day, kit.units):
        column = columns[one.part]
        load = int(kit.units[one.part]) - column.aboard
        found.append(
            KitLine(
                column.number,
                column.title,
                column.aboard,
                load,
                one.with_it,
                one.without,
                one.fits,
                column.most,
                one.saves,
                column.holding * max(load, 1),
            )
        )
    return found


def _in_order(day: Day, columns: list[_Column]) -> tuple[tuple[str, float], ...]:
    steps = greedy_kit(day).steps
    return tuple(
        (" and ".join(columns[part].title for part, _ in step.units), step.fill_rate)
        for step in steps
    )
