"""Volume, depth and time of filling: a bucket under a hose, a tub up to a level."""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within

TABLE_SIZE = 513
RADII = (0.01, 1.0)  # m


def bucket_flow(volume: Number, seconds: Number) -> Floats:
    """Flow [m3/s] that fills ``volume`` [m3] in ``seconds``.

    Raises
    ------
    OutsideRangeError
        If the volume is negative or above 1 m3, or the time not above 0 (to a day).

    Examples
    --------
    Ten litres in forty seconds are 15 L/min:

    >>> round(float(bucket_flow(0.010, 40.0)) * 60e3, 6)
    15.0
    """
    filled = within("volume", volume, 0.0, 1.0, "m3")
    return np.asarray(filled / within("time", seconds, 1e-3, 86400.0, "s"))


def bucket_error(volume: Number, seconds: Number, reading: Number, watch: Number) -> Floats:
    """Standard uncertainty [m3/s] of `bucket_flow`, both readings independent.

    Relative variances add: u(Q)/Q = sqrt((u(V)/V)^2 + (u(t)/t)^2) (JCGM 100:2008, GUM,
    clause 5.1.6). ``reading`` [m3] and ``watch`` [s] are the standard uncertainties of the
    bucket's mark and of the time.

    Examples
    --------
    >>> round(float(bucket_error(0.010, 40.0, 0.0003, 0.5)) * 60e3, 2)
    0.49
    """
    flow = bucket_flow(volume, seconds)
    by_time = flow * np.asarray(watch) / np.asarray(seconds)
    return np.asarray(np.hypot(np.asarray(reading) / np.asarray(seconds), by_time))


def fill_time(volume: Number, flow: Number, leak: Number = 0.0) -> Floats:
    """Time [s] to fill ``volume`` [m3] at ``flow`` less ``leak`` [m3/s]; infinite if never.

    Examples
    --------
    >>> round(float(fill_time(0.045, 10 / 60e3)))
    270
    >>> float(fill_time(0.045, 0.0))
    inf
    """
    wanted = within("volume", volume, 0.0, 1.0, "m3")
    net = np.asarray(within("flow", flow, 0.0, 1.0, "m3/s") - np.asarray(leak, dtype=float))
    shape = np.broadcast_shapes(wanted.shape, net.shape)
    endless = np.where(np.broadcast_to(wanted, shape) > 0.0, np.inf, 0.0)
    return np.asarray(np.divide(wanted, net, out=endless, where=net > 0.0))


def upright_volume(depth: Number, radius: Number, sump: Number = 0.0) -> Floats:
    """Water [m3] in an upright round tub at a depth [m] over its floor; ``sump`` is below it.

    Examples
    --------
    >>> round(float(upright_volume(0.20, 0.27, 0.002)) * 1e3, 1)
    47.8
    """
    deep = within("depth", depth, 0.0, 1.0, "m")
    return np.asarray(sump + np.pi * np.square(within("radius", radius, *RADII, "m")) * deep)


def upright_depth(volume: Number, radius: Number, sump: Number = 0.0) -> Floats:
    """Depth [m] over the floor of an upright round tub; none while the sump is filling.

    Examples
    --------
    >>> round(float(upright_depth(0.0478, 0.27, 0.002)), 3)
    0.2
    """
    above = np.maximum(within("volume", volume, 0.0, 1.0, "m3") - np.asarray(sump), 0.0)
    return np.asarray(above / (np.pi * np.square(within("radius", radius, *RADII, "m"))))


def lying_volume(depth: Number, radius: Number, length: Number) -> Floats:
    """Water [m3] in a lying round tub (front load) at a depth [m] over its lowest line.

    Segment of a circle times length: L (R^2 acos((R-h)/R) - (R-h) sqrt(2 R h - h^2)).
    Depths from 0 to the diameter.

    Examples
    --------
    Half full is half the cylinder:

    >>> round(float(lying_volume(0.27, 0.27, 0.40) / (3.14159265 * 0.27**2 * 0.40)), 6)
    0.5
    """
    round_by = within("radius", radius, *RADII, "m")
    share = np.asarray(depth, dtype=float) / (2.0 * round_by)
    return np.asarray(np.pi * np.square(round_by) * np.asarray(length) * _segment(share))


def lying_depth(volume: Number, radius: Number, length: Number) -> Floats:
    """Depth [m] in a lying round tub that holds ``volume`` [m3]; inverse of `lying_volume`.

    Read from a table in the angle of the water's edge, then one step of Newton: within
    1e-6 of the diameter.

    Raises
    ------
    OutsideRangeError
        If the tub cannot hold so much.

    Examples
    --------
    >>> round(float(lying_depth(lying_volume(0.10, 0.27, 0.40), 0.27, 0.40)), 6)
    0.1
    """
    round_by = within("radius", radius, *RADII, "m")
    whole = np.pi * np.square(round_by) * np.asarray(length)
    share = within("share of the tub", np.asarray(volume) / whole, 0.0, 1.0, "1")
    angle = np.linspace(0.0, np.pi, TABLE_SIZE)
    filled = (angle - np.sin(angle) * np.cos(angle)) / np.pi
    found = np.interp(share, filled, angle)
    slope = 2.0 * np.square(np.sin(found)) / np.pi
    gap = share - (found - np.sin(found) * np.cos(found)) / np.pi
    step = np.divide(gap, slope, out=np.zeros_like(gap), where=slope > 1e-6)
    found = np.clip(found + step, 0.0, np.pi)
    return np.asarray(round_by * (1.0 - np.cos(found)))


def _segment(share: Number) -> Floats:
    """Share of a circle's area below a share of its diameter."""
    part = within("share of the diameter", share, 0.0, 1.0, "1")
    angle = np.arccos(1.0 - 2.0 * part)
    return np.asarray((angle - np.sin(angle) * np.cos(angle)) / np.pi)
