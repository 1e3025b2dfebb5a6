"""When each lamp of a clip was lit to the eye, frame by frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_fits import LampFit
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import ReadLamp, ReadPanel, one_clip, read_lamps

Array = NDArray[np.float64]

LOOKS = 7
"""Frames from which a lamp's look is taken."""
BRIGHT = 0.8
"""Of the frames in which a lamp is caught lit, its look is taken about this quantile."""
CAUGHT = 0.4
"""A lamp is caught lit above this share of its brightest."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What the lamps do, and in which frames each is lit; None where that is unknown."""

    panel: ReadPanel
    lit: dict[str, NDArray[np.bool_] | None]


@dataclass(frozen=True, slots=True)
class Looks:
    """Frames in which a lamp looks as when lit, and as when dark."""

    lit: NDArray[np.int64]
    dark: NDArray[np.int64]


def plan_of(series: LampSeries) -> Plan:
    """Return what the lamps of one clip do, frame by frame."""
    panel = read_lamps([series])
    fits = one_clip(series).best.lamps
    lamps = zip(series.names, fits, strict=True)
    return Plan(panel, {name: _lit(series, panel.lamps[name], fit) for name, fit in lamps})


def _lit(series: LampSeries, lamp: ReadLamp, fit: LampFit) -> NDArray[np.bool_] | None:
    """The frames in which a lamp is lit: by its even rhythm, or as it was followed."""
    if lamp.state == "unknown":
        return None
    if lamp.state != "flashing":
        return np.full(len(series.times_s), lamp.state == "steady")
    if lamp.duty is None:
        return fit.path
    rhythm = fit.rhythm
    turns = (series.times_s - rhythm.start_s) / rhythm.period_s
    return np.asarray(turns % 1.0 < rhythm.duty)


def looks(series: LampSeries, lit: NDArray[np.bool_], k: int) -> Looks:
    """Return from which frames the look of lamp ``k`` can be taken.

    Lit, from frames neither dimmest nor brightest of those that caught it; dark, from the
    dimmest of those in which it is dark to the eye.
    """
    y = np.where(np.isfinite(series.brightness[k]), series.brightness[k], np.nan)
    top = np.nanquantile(np.where(lit, y, np.nan), 0.97) if lit.any() else np.nan
    caught = np.flatnonzero(lit & (y > CAUGHT * top))
    middle = np.quantile(y[caught], BRIGHT) if len(caught) else 0.0
    near = caught[np.argsort(np.abs(y[caught] - middle))]
    dark = np.flatnonzero(~lit & np.isfinite(y))
    return Looks(near[:LOOKS], dark[np.argsort(y[dark])][: 3 * LOOKS : 3])
