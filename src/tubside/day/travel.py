"""Travel times and lengths between places, from their coordinates alone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tubside.day.problem import Floats, Place, Travel

EARTH_RADIUS = 6_371_008.8
"""Mean radius R1 of the WGS 84 ellipsoid [m]: NIMA TR8350.2, 3rd ed., table 3.6 (from memory)."""
ROAD_FACTOR = 1.3
"""Roads over the great circle, common practice, no source."""
SPEED = 40.0 / 3.6
"""Mean speed [m/s] in and between small towns, common practice, no source."""


def great_circle(places: Sequence[Place], radius: float = EARTH_RADIUS) -> Floats:
    r"""Return the lengths [m] along great circles, (places, places).

    .. math:: d = 2 R \arcsin\sqrt{\sin^2\tfrac{\Delta\varphi}{2}
              + \cos\varphi_1 \cos\varphi_2 \sin^2\tfrac{\Delta\lambda}{2}}

    The haversine form, good also for short ways (Sinnott, Virtues of the haversine, Sky and
    Telescope 68, 1984, p. 159). Against the ellipsoid it is off by at most about 0.5 %, which
    the road factor hides.

    Examples
    --------
    >>> ways = great_circle([Place(36.12, -86.67), Place(33.94, -118.40)], radius=6_371_000.0)
    >>> round(float(ways[0, 1]), 2)
    2886444.44
    """
    lat = np.radians([place.lat for place in places]).reshape(-1, 1)
    lon = np.radians([place.lon for place in places]).reshape(-1, 1)
    half = np.sin((lat - lat.T) / 2) ** 2
    half = half + np.cos(lat) * np.cos(lat.T) * np.sin((lon - lon.T) / 2) ** 2
    return np.asarray(2.0 * radius * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0))))


def great_circle_travel(
    places: Sequence[Place], road_factor: float = ROAD_FACTOR, speed: float = SPEED
) -> Travel:
    """Return the great circle times ``road_factor``, driven at ``speed`` [m/s]."""
    metres = great_circle(places) * road_factor
    return Travel(metres / speed, metres, source="great circle")
