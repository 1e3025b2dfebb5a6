"""Warm air through a turning drum: how fast the laundry dries, and what bounds it.

The drum is one exchanger: of the way from the air's temperature to that of the wet laundry a
share goes, the *effectiveness*, by the number of transfer units. While the laundry is wet it
lies near the wet-bulb temperature and dries at a constant rate, later at one that falls with
the moisture left (Incropera, Fundamentals of Heat and Mass Transfer, section 11.4, for the
exchanger; Perry, Chemical Engineers' Handbook, section 12, for the two periods; both from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import moist_air
from tubside.physics.validity import Floats, Number, within

CRITICAL = 0.15
"""Moisture [kg/kg of dry cotton] below which drying slows (our choice, no source, so that heat
and motor together take what a federal test of dryers finds, 1.06 kWh for a kilogram of water)."""
REGAIN = 0.02
"""Moisture [kg/kg] that stays in cotton in hot, nearly dry air (Morton and Hearle, Physical
Properties of Textile Fibres, chapter 7, from memory: 2 to 3 % at 10 % humidity)."""


@dataclass(frozen=True, slots=True)
class Stream:
    """Air before the heater: dry air [kg/s], temperature [K], humidity ratio [kg/kg]."""

    dry_flow: Number
    temperature: Number
    ratio: Number

    @property
    def capacity(self) -> Floats:
        """Heat [W] that warms the stream by one kelvin [W/K]."""
        return np.asarray(np.asarray(self.dry_flow) * moist_air.heat_capacity(self.ratio))


@dataclass(frozen=True, slots=True)
class Dried:
    """Steady drying at one moisture; arrays (D,)."""

    hot: Floats  # K, air before the drum
    surface: Floats  # K, the wet laundry
    outlet: Floats  # K, air behind the drum
    ratio: Floats  # kg/kg, water in it
    rate: Floats  # kg/s that leave the laundry
    power: Floats  # W that the heater gives on the mean


def effectiveness(transfer: Number, capacity: Number) -> Floats:
    """Share of the way to the laundry's temperature: 1 - exp(-UA / (m c)).

    An exchanger whose one side stays at one temperature (Incropera, equation 11.35a, from
    memory). Both in [W/K]; none without air.

    Examples
    --------
    >>> round(float(effectiveness(100.0, 66.0)), 2)
    0.78
    """
    units = within("transfer", transfer, 0.0, 1e5, "W/K") / np.maximum(capacity, 1e-6)
    return np.asarray(-np.expm1(-np.minimum(units, 700.0)))


def wet_share(moisture: Number) -> Floats:
    """Share of the constant rate at a moisture [kg/kg]: 1 above critical, falling to regain.

    Examples
    --------
    >>> wet_share(np.array([0.6, 0.085, 0.02])).round(6).tolist()
    [1.0, 0.5, 0.0]
    """
    return np.asarray(np.clip((np.asarray(moisture) - REGAIN) / (CRITICAL - REGAIN), 0.0, 1.0))


def dried(
    stream: Stream, power: Number, effect: Number, hottest: Number, outlet_most: Number
) -> Dried:
    """Steady drying with a heater of ``power`` [W] that two thermostats may switch.

    Air of T0 and w0 is warmed to T1 = T0 + P/(m c), loses the share e of T1 - Tw in the drum,
    and leaves with w0 + e (ws(Tw) - w0) at T1 - e (T1 - Tw). The heater's thermostat holds T1
    at ``hottest``, the one at the outlet holds T2 at ``outlet_most`` [K], both by switching:
    the power is then the mean. Energy and water are kept: m e (ws - w0) is the rate, and its
    heat of evaporation is m c (T1 - T2).

    Examples
    --------
    2.2 kW and 200 m3/h of ordinary air, UA 100 W/K; in kg/h and C:

    >>> air = Stream(0.0665, 293.15, 0.0073)
    >>> found = dried(air, 2200.0, effectiveness(100.0, air.capacity), 420.0, 335.0)
    >>> round(float(found.rate) * 3600, 2), round(float(found.outlet) - 273.15, 1)
    (2.18, 30.6)
    """
    given = within("power", power, 0.0, 1e5, "W")
    share = within("effectiveness", effect, 0.0, 1.0, "1")
    before, water = np.asarray(stream.temperature, dtype=float), np.asarray(stream.ratio)
    most = np.maximum(hottest, before)
    warmed = np.minimum(before + given / np.maximum(stream.capacity, 1e-6), most)
    by_heat = moist_air.wet_surface(np.minimum(warmed, moist_air.WARMEST), water)
    outlet = np.maximum(outlet_most, before)
    by_outlet = moist_air.wet_surface(np.minimum(outlet, moist_air.WARMEST), water, 1.0 - share)
    surface = np.minimum(by_heat, by_outlet)
    held = np.maximum(moist_air.saturated_ratio(surface), water)
    heat = moist_air.evaporation_heat(surface) / moist_air.heat_capacity(water)
    hot = np.minimum(surface + heat * (held - water), warmed)
    rate = np.asarray(stream.dry_flow) * share * (held - water)
    used = np.minimum(np.maximum(hot - before, 0.0) * stream.capacity, given)
    return Dried(
        hot, surface, hot - share * (hot - surface), water + share * (held - water), rate, used
    )


def most_by_energy(power: Number, surface: Number) -> Floats:
    """Rate [kg/s] that no dryer exceeds whose heat is all spent on water: P / H.

    Examples
    --------
    2.2 kW, in kg/h:

    >>> round(float(most_by_energy(2200.0, 303.15)) * 3600, 2)
    3.26
    """
    return np.asarray(np.asarray(power) / moist_air.evaporation_heat(surface))


def most_by_air(stream: Stream, outlet: Number) -> Floats:
    """Rate [kg/s] of a stream that leaves full of water at an outlet temperature [K].

    Examples
    --------
    200 m3/h that leave full at 30 C, in kg/h:

    >>> round(float(most_by_air(Stream(0.0665, 293.15, 0.0073), 303.15)) * 3600, 2)
    4.76
    """
    room = moist_air.saturated_ratio(outlet) - np.asarray(stream.ratio)
    return np.asarray(np.asarray(stream.dry_flow) * np.maximum(room, 0.0))
