r"""How long the camera exposed, told by lamps that flash: a switch falls within an exposure.

A frame exposed from t on for t_e, while a lamp lights at e, shows the share

.. math:: \operatorname{clip}((t - e + t_e) / t_e,\, 0,\, 1)

of its light (worked out here). Over many switches these shares draw a ramp as wide as t_e.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_fits import Explanation, clear, middle_light
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.rhythms import Rhythm

Array = NDArray[np.float64]
LONG_S = 1 / 60
TRIED = 16
LONGEST_FRAMES = 0.99
REACH_FRAMES = 2.2
EARLY_FRAMES = np.linspace(-1.2, 1.2, 33)
SLIPS_FRAMES = np.linspace(-0.5, 0.5, 9)
LAGS = (0.2, 0.35, 0.5, 0.65, 0.8)
SPREAD = 0.04
CAP_NATS = 8.0
PHASES = 8
FEWEST_PHASES = 5


def caught_share(since: Array, exposure: float) -> Array:
    """Return the share of a lamp's light that a frame catches, by when it opened.

    Parameters
    ----------
    since : Array
        From the moment the lamp lit to the moment the exposure began.
    exposure : float
        Length of the exposure, in the same unit.

    Examples
    --------
    >>> caught_share(np.array([-1.0, -0.5, -0.25, 0.3]), 1.0).tolist()
    [0.0, 0.5, 0.75, 1.0]
    """
    return np.asarray(np.clip((since + exposure) / exposure, 0.0, 1.0))


def smeared_share(since: Array, share: float) -> Array:
    """Return what a codec shows that holds back one frame by a fixed share; unit: frames."""
    return np.asarray(np.where(since < 0.0, 0.0, np.where(since < 1.0, share, 1.0)))


def long_exposure(series: LampSeries, level: Levelled, best: Explanation) -> float:
    """Return the nats by which exposures of 1/60 s and more outdo all shorter ones.

    They must outdo, too, edges that a codec smears over one frame by a fixed share. A lamp
    whose period is a whole number of frames is always met at the same phases and says
    nothing. One that fades in and out over tens of milliseconds would look like a long
    exposure; lamps of a multiplex switch at once (common practice, no source).
    """
    step_s = 1.0 / series.rate_hz
    exposures = np.linspace(0.02, LONGEST_FRAMES, TRIED)
    long = exposures * step_s >= LONG_S
    if not long.any():
        return 0.0
    said = np.zeros(TRIED + len(LAGS))
    middle = middle_light(level)[:, 0]
    for k, (fit, lit) in enumerate(zip(best.lamps, best.lit, strict=True)):
        if not lit or fit.counted or not clear(fit):
            continue
        noise = float(np.hypot(level.noise[k] / middle[k], SPREAD))
        t, y = series.read_s[k][level.seen[k]], level.x[k][level.seen[k]] / middle[k]
        rhythm = fit.rhythm
        said += edge_nats(t, y, noise, rhythm, step_s, exposures)
        ends = Rhythm(0.0, rhythm.period_s, rhythm.start_s + rhythm.duty * rhythm.period_s, 0.5)
        said += edge_nats(t, 1.0 - y, noise, ends, step_s, exposures)
    ramps, smeared = said[:TRIED], said[TRIED:]
    return float(ramps[long].max() - max(ramps[~long].max(), smeared.max()))


def edge_nats(
    t: Array, y: Array, noise: float, rhythm: Rhythm, step_s: float, exposures: Array
) -> Array:
    """Return nats of each exposure, then of each smear, from the frames about one kind of edge.

    ``y`` is 0 before and 1 after the edge, which comes every period from ``start_s`` on; where
    just, and how far the period is off, is found anew for each. Unit of ``exposures``: frames.
    """
    turn = np.round((t - rhythm.start_s) / rhythm.period_s)
    since = (t - rhythm.start_s - turn * rhythm.period_s) / step_s
    near = np.abs(since) < min(REACH_FRAMES, 0.15 * rhythm.period_s / step_s)
    since, turn, y = since[near], turn[near], y[near]
    phases = np.unique(np.floor(since % 1.0 * PHASES))
    if len(phases) < FEWEST_PHASES:
        return np.zeros(len(exposures) + len(LAGS))
    slip = SLIPS_FRAMES[:, None] * (turn - turn.mean()) / max(float(np.ptp(turn)), 1.0)
    moved = since - slip[:, None, :] - EARLY_FRAMES[:, None]
    shapes = [caught_share(moved, exposure) for exposure in exposures]
    shapes += [smeared_share(moved, share) for share in LAGS]
    return np.array(
        [-np.minimum(((y - shape) / noise) ** 2 / 2, CAP_NATS).sum(2).min() for shape in shapes]
    )
