"""Who visits whom, by PyVRP's search: several vans, windows, skills (extra ``fleet``).

PyVRP (Wouda, Lan & Kool, PyVRP: a high-performance VRP solver package, INFORMS Journal on
Computing 36(4), 2024) knows hard windows and no pauses, and computes in whole numbers. So it
is given expected times, promises that close a little early and hours less the pauses; what
it finds is only where our own search by expected cost begins.
"""

from __future__ import annotations

import warnings
from importlib.util import find_spec
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tubside.day.draws import mean_remaining
from tubside.day.problem import KILOMETRE, MINUTE, Day, Stop, Window
from tubside.day.search import Rounds, able

if TYPE_CHECKING:
    from pyvrp import Client, ProblemData, VehicleType

Whole = NDArray[np.int64]

SCALE = 10_000.0
"""Parts of the shop's money, so that prices for a metre and a second are whole numbers."""
FORBIDDEN = 1_000_000
"""Metres and seconds to a visit that a technician cannot make."""
LONGEST = 24 * 3600
EARLY = 1.0
"""Standard deviations of the time on site by which promises are given as closing early."""
ITERATIONS = 800
MISSING = "PyVRP is not installed, so visits are shared out by small changes alone; for more: "
INSTALL = "pip install 'tubside[fleet]'"


def fleet_is_there() -> bool:
    """Return whether PyVRP is installed."""
    return find_spec("pyvrp") is not None


def fleet_rounds(day: Day, stops: list[int], seed: int, iterations: int = ITERATIONS) -> Rounds:
    """Return PyVRP's rounds for ``stops``; the same seed gives the same rounds.

    Visits that it leaves out or gives to somebody who cannot make them are missing.
    """
    import pyvrp  # noqa: PLC0415 - loads matplotlib, and is an extra
    from pyvrp.stop import MaxIterations  # noqa: PLC0415 - same

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that its penalties came to their bound helps nobody
        found = pyvrp.solve(
            _problem(day, stops),
            MaxIterations(iterations),
            seed=seed,
            collect_stats=False,
            display=False,
        )
    rounds: Rounds = [[] for _ in day.technicians]
    for route in found.best.routes():
        k = route.vehicle_type()
        visits = [stops[one.idx] for one in route if one.is_client()]
        rounds[k] = [at for at in visits if k in able(day, at)]
    return rounds


def _problem(day: Day, stops: list[int]) -> ProblemData:
    import pyvrp  # noqa: PLC0415 - loads matplotlib, and is an extra

    nodes = len(stops) + 2 * len(day.technicians)
    tables = [_tables(day, stops, k) for k in range(len(day.technicians))]
    return pyvrp.ProblemData(
        [pyvrp.Location(0.0, 0.0) for _ in range(nodes)],
        [_client(day.stops[at], place) for place, at in enumerate(stops)],
        [pyvrp.Depot(place) for place in range(len(stops), nodes)],
        [_van(day, k) for k in range(len(day.technicians))],
        # PyVRP's own stubs give arrays a wrong parameter
        [metres for metres, _ in tables],  # type: ignore[misc]
        [seconds for _, seconds in tables],  # type: ignore[misc]
    )


def _client(stop: Stop, place: int) -> Client:
    import pyvrp  # noqa: PLC0415 - loads matplotlib, and is an extra

    site, window = stop.on_site, stop.promised or Window(0.0, LONGEST)
    early = max(window.opens, 0.0)
    late = max(early, window.closes - EARLY * site.deviation)
    return pyvrp.Client(
        place,
        service_duration=round(site.mean),
        tw_early=round(early),
        tw_late=round(late),
        name=stop.id,
    )


def _van(day: Day, k: int) -> VehicleType:
    import pyvrp  # noqa: PLC0415 - loads matplotlib, and is an extra

    one, prices = day.technicians[k], day.prices
    begin = one.hours.opens + mean_remaining(one.busy)
    hours = one.hours.closes - begin - sum(pause.length for pause in one.breaks)
    return pyvrp.VehicleType(
        start_depot=2 * k,
        end_depot=2 * k + 1,
        tw_early=round(begin),
        start_late=round(begin),
        shift_duration=max(round(hours), 0),
        max_overtime=LONGEST,
        unit_overtime_cost=round(SCALE * prices.per_overtime_minute / MINUTE),
        unit_distance_cost=round(SCALE * prices.per_km / KILOMETRE),
        unit_duration_cost=round(SCALE * prices.per_minute / MINUTE),
        profile=k,
        name=one.id,
    )


def _tables(day: Day, stops: list[int], k: int) -> tuple[Whole, Whole]:
    """Lengths and times as this technician has them: far too long to what is not for them."""
    ends = range(len(day.stops), len(day.stops) + 2 * len(day.technicians))
    nodes = np.array([*stops, *ends])
    barred = [place for place, at in enumerate(stops) if k not in able(day, at)]
    tables = []
    for table in (day.travel.metres, day.travel.seconds):
        whole = np.rint(table[np.ix_(nodes, nodes)]).astype(np.int64)
        whole[:, barred] = whole[barred] = FORBIDDEN
        np.fill_diagonal(whole, 0)
        tables.append(whole)
    return tables[0], tables[1]
