"""What narrows a way: orifice, valve (Kv), screen, kink; all as Q = sqrt(dp / r).

A *resistance* r [Pa s2/m6] is the pressure lost by the square of the flow; resistances in a
row add. Infinity is a shut way. A *loss* K is the pressure lost in units of rho v^2 / 2.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import DENSITY_15
from tubside.physics.validity import Floats, Number, within

HOUR = 3600.0
BAR = 1e5
CV_OF_KV = 3.785411784e-3 * 60.0 / np.sqrt(6894.757293168 / BAR)  # m3/h at 1 psi of a US gpm
WIRE = 0.52


def orifice_flow(
    pressure: Number, bore: Number, discharge: Number = 0.62, density: Number = 998.2
) -> Floats:
    """Flow [m3/s] through a sharp-edged hole: Cd A sqrt(2 dp / rho).

    ``pressure`` [Pa] is the difference across the hole, ``bore`` [m] its diameter. Turbulent
    flow through a sharp edge in a wide wall (White, Fluid Mechanics, section 6.12; Cd 0.6 to
    0.65 at a bore below half of the pipe's).

    Raises
    ------
    OutsideRangeError
        If the pressure is negative or above 2 MPa, Cd outside 0 to 1, or the bore
        outside 0 to 1 m.

    Examples
    --------
    >>> round(float(orifice_flow(300e3, 0.005)) * 60e3, 2)
    17.91
    """
    drop = within("pressure difference", pressure, 0.0, 2e6, "Pa")
    share = within("discharge coefficient", discharge, 0.0, 1.0, "1")
    area = 0.25 * np.pi * np.square(within("bore", bore, 0.0, 1.0, "m"))
    return np.asarray(share * area * np.sqrt(2.0 * drop / np.asarray(density)))


def kv_flow(kv: Number, pressure: Number, density: Number = DENSITY_15) -> Floats:
    """Flow [m3/s] through a valve of ``kv`` [m3/h at 1 bar] at a pressure difference [Pa].

    IEC 60534-2-1, equation 1: Q = Kv sqrt(dp/1 bar) sqrt(rho0/rho); turbulent, not choked.

    Examples
    --------
    >>> round(float(kv_flow(1.0, 100e3)) * 3600, 4)
    1.0
    """
    drop = within("pressure difference", pressure, 0.0, 2e6, "Pa")
    return np.asarray(np.sqrt(drop / kv_resistance(kv, density)))


def kv_of(flow: Number, pressure: Number, density: Number = DENSITY_15) -> Floats:
    """Kv [m3/h at 1 bar] that passes a flow [m3/s] at a pressure difference [Pa] above 0.

    Examples
    --------
    IEC 60534-2-1, example 1 of the annex: 360 m3/h of water at 363 K, 680 to 220 kPa.

    >>> round(float(kv_of(0.1, 460e3, 965.4)), 1)
    165.0
    """
    drop = within("pressure difference", pressure, 1e-3, 2e7, "Pa")
    relative = np.asarray(density, dtype=float) / DENSITY_15
    return np.asarray(np.asarray(flow) * HOUR * np.sqrt(relative * BAR / drop))


def kv_to_cv(kv: Number) -> Floats:
    """Cv [US gallons a minute at 1 psi] of a Kv [m3/h at 1 bar], by the units alone.

    Examples
    --------
    >>> round(float(kv_to_cv(1.0)), 4)
    1.1561
    """
    return np.asarray(np.asarray(kv, dtype=float) / CV_OF_KV)


def kv_resistance(kv: Number, density: Number = DENSITY_15) -> Floats:
    """Resistance [Pa s2/m6] of a valve of ``kv`` [m3/h at 1 bar]; infinite at 0.

    Examples
    --------
    >>> float(kv_resistance(0.0))
    inf
    """
    size = within("Kv", kv, 0.0, 1e4, "m3/h") / HOUR
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(BAR * np.asarray(density) / DENSITY_15 / np.square(size))


def loss_resistance(loss: Number, area: Number, density: Number) -> Floats:
    """Resistance [Pa s2/m6] of ``loss`` velocity heads in an area [m2]: K rho / (2 A^2).

    Examples
    --------
    >>> round(float(loss_resistance(2.0, 0.1, 1.0)), 9)
    100.0
    """
    return np.asarray(np.asarray(loss) * density / (2.0 * np.square(np.asarray(area))))


def screen_loss(open_share: Number) -> Floats:
    """Loss K of a woven wire screen with a share of open area, on the speed before it.

    K = 0.52 (1 - a^2)/a^2 (Blevins, Applied Fluid Dynamics Handbook, 1984, table of round
    edged screens, as given in the documentation of the library fluids), true for a of 0.05 to
    0.8 and a Reynolds number of the gaps above 400. Below 0.05 the same line is carried on
    to infinity at 0 (a silted screen passes nothing), above 0.8 to zero at 1.

    Raises
    ------
    OutsideRangeError
        If the share lies outside 0 to 1.

    Examples
    --------
    >>> round(float(screen_loss(0.5)), 2)
    1.56
    """
    share = within("open share of the screen", open_share, 0.0, 1.0, "1")
    return _by_square(WIRE * (1.0 - np.square(share)), share)


def narrowing_loss(open_share: Number) -> Floats:
    """Loss K of a short narrowing that leaves a share of the area, on the speed in the pipe.

    A sharp-edged plate across a pipe: K = ((1 - a) + 0.707 (1 - a)^0.375)^2 / a^2 (Idelchik,
    Handbook of Hydraulic Resistance, 3rd edition 1994, diagram 4-14, p. 221; read in the
    documentation of Modelica.Fluid), true for a Reynolds number in the hole above 1e5; at
    1e4 the loss is somewhat more. A kink, a lump of lint or a coin in a strainer is rounder
    than a sharp edge: there the true loss is less. Zero at 1, infinite at 0.

    Examples
    --------
    >>> round(float(narrowing_loss(0.5)), 2)
    4.37
    """
    share = within("open share", open_share, 0.0, 1.0, "1")
    shut = 1.0 - share
    return _by_square(np.square(shut + 0.707 * shut**0.375), share)


def flow_through(resistance: Number, pressure: Number) -> Floats:
    """Flow [m3/s] that a pressure [Pa] drives through a resistance; none backwards.

    Examples
    --------
    >>> float(flow_through(1e12, 250e3)), float(flow_through(1e12, -1.0))
    (0.0005, 0.0)
    """
    drop = np.maximum(np.asarray(pressure, dtype=float), 0.0)
    return np.asarray(np.sqrt(drop / np.asarray(resistance, dtype=float)))


def _by_square(top: Floats, bottom: Floats) -> Floats:
    """``top / bottom^2``, infinite where the bottom is none."""
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(top / np.square(bottom))
