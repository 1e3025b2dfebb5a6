"""Days for tests: published instances as read, and invented ones from a seed."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tubside.day.problem import (
    HOUR,
    MINUTE,
    NO_TIME,
    Day,
    Floats,
    Place,
    Prices,
    Stop,
    Technician,
    TimeOnSite,
    Travel,
    Window,
    places_of,
)
from tubside.day.travel import great_circle_travel

ROUTES = Path(__file__).parents[1] / "published" / "routes"
HERE = Place(0.0, 0.0)
TRAVEL_ONLY = Prices(0.0, 1000.0, 0.0, 0.0, 0.0)
MAKESPAN = Prices(60.0, 0.0, 0.0, 0.0, 0.0)


def instance_rows(name: str) -> Floats:
    """Return the rows number, x, y, from, until of a published instance."""
    return np.loadtxt(ROUTES / f"{name}.txt")


def floored(rows: Floats, per_unit: float = 1.0) -> Floats:
    """Return euclidean distances cut (not rounded) to a whole number of parts of the unit."""
    places = rows[:, 1:3]
    apart = np.sqrt(((places[:, None] - places[None]) ** 2).sum(axis=2))
    return np.asarray(np.floor(apart * per_unit + 1e-9) / per_unit)


def without_detours(apart: Floats) -> Floats:
    """Return the ways over at most one other place: cutting breaks the triangle rule."""
    return np.asarray((apart[:, :, None] + apart[None]).min(axis=1))


def matrix_instance(name: str, prices: Prices) -> Day:
    """Return a published instance that gives a number, a matrix, then the windows."""
    path = ROUTES / f"{name}.txt"
    count = int(path.read_text(encoding="utf-8").split(maxsplit=1)[0])
    apart = np.loadtxt(path, skiprows=1, max_rows=count)
    return one_van(apart, np.loadtxt(path, skiprows=count + 1), prices)


def coordinate_instance(name: str, prices: Prices) -> Day:
    """Return a published instance that gives coordinates and windows."""
    rows = instance_rows(name)
    return one_van(without_detours(floored(rows)), rows[:, 3:], prices)


def many_vans(name: str, vans: int, per_unit: float, on_site: float) -> Day:
    """Return a published instance of any number of equal vans, lengths and times in tenths."""
    rows = instance_rows(name)
    apart = floored(rows, per_unit) * per_unit
    kept = [Window(float(row[3]) * per_unit, float(row[4]) * per_unit) for row in rows]
    time = TimeOnSite(*[on_site * per_unit] * 3)
    stops = tuple(Stop(str(k), HERE, time, one) for k, one in enumerate(kept[1:], 1))
    crew = tuple(Technician(f"van {k}", HERE, HERE, kept[0]) for k in range(vans))
    order = np.array([*range(1, len(rows)), *[0] * (2 * vans)])
    table = apart[np.ix_(order, order)]
    return Day(stops, crew, Travel(table, table, 1.0, 1.0), TRAVEL_ONLY)


def one_van(apart: Floats, windows: Floats, prices: Prices) -> Day:
    """Return the day of one van that starts and ends at row nought, with no time on site."""
    order = np.array([*range(1, len(apart)), 0, 0])
    table = apart[np.ix_(order, order)]
    kept = [Window(float(opens), float(closes)) for opens, closes in windows]
    stops = tuple(Stop(str(k), HERE, NO_TIME, one) for k, one in enumerate(kept[1:], 1))
    van = Technician("van", HERE, HERE, kept[0])
    return Day(stops, (van,), Travel(table, table, 1.0, 1.0), prices)


def invented_day(seed: int, visits: int, vans: int = 1, *, promised: bool = True) -> Day:
    """Return a day in a made-up country, hours 8 to 17, most visits promised for two hours."""
    rng = np.random.default_rng(seed)

    def place() -> Place:
        return Place(52.0 + 0.12 * float(rng.random()), 0.2 * float(rng.random()))

    vans_here = tuple(
        Technician(f"van {k + 1}", (home := place()), home, Window(8 * HOUR, 17 * HOUR))
        for k in range(vans)
    )
    each = max(1.0, visits / vans)
    stops = []
    for k in range(visits):
        mean = float(rng.uniform(15, 45)) * MINUTE * min(1.0, 12.0 / each)
        opens = (8 + int(rng.integers(0, 8))) * HOUR
        kept = Window(opens, opens + 2 * HOUR) if promised and rng.random() < 0.8 else None
        stops.append(
            Stop(f"visit {k + 1}", place(), TimeOnSite(mean, 0.5 * mean, 1.7 * mean), kept)
        )
    return Day(tuple(stops), vans_here, great_circle_travel(places_of(stops, vans_here)))
