"""Air through a dryer: lint filter, drum, fan, and the duct or the exchanger behind them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.draws import Values
from tubside.machine.inlet import HALF
from tubside.pack.fault_model import Floats
from tubside.physics import airflow, moist_air
from tubside.physics.airflow import Fan
from tubside.physics.pipes import Pipe
from tubside.physics.restrictions import loss_resistance, screen_loss

AIR = airflow.air_at(318.15, 0.02)
"""The air on its way, 45 C and damp: its weight changes the flow by 4 % at most."""
FILTER_AREA, MESH = 0.03, 0.35
"""Area of the lint filter [m2] and the open share of its clean mesh (common practice, no
source)."""
INNER_AREA, INNER_LOSS = 0.00785, 7.0
"""The way through heater, drum and housing: area [m2] and its loss K (common practice, no
source: about two thirds of what the fan gives is lost in the machine)."""
FLAP = 1.0
"""Loss K of a free flap outdoors, on the duct's area (common practice, no source)."""
EXCHANGER = 4.0
"""Loss K of a clean exchanger, on the area of the inner way (common practice, no source)."""
NARROWEST = 1e-3
"""An open share below this is taken as shut."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What the fan moves; arrays (D,)."""

    flow: Floats  # m3/s through the fan
    outside: Floats  # m3/s outdoors; none from a machine without a duct
    back_pressure: Floats  # Pa, static, at the machine's outlet
    filter_drop: Floats  # Pa over the lint filter

    @property
    def mass(self) -> Floats:
        """Dry air [kg/s]."""
        return np.asarray(self.flow * _dry_density())


def moved(values: Values) -> Moved:
    """Air through the machine as it stands, its hose on."""
    way = _filter(values) + _inner(values)
    vented = values["vented"] > HALF
    on = vented & (values["air_kept"] > HALF)
    duct = Pipe(values["duct_bore"], np.where(on, values["duct_length"], 0.0), airflow.SMOOTH)
    losses = np.where(on, _fittings(values), airflow.EXIT)
    inside = way + np.where(vented, 0.0, _exchanger(values))
    flow = airflow.flow_through(_fan(values), duct, AIR, losses, inside)
    whole = airflow.duct_resistance(duct, flow, AIR, losses) * np.square(flow)
    moving = airflow.velocity_pressure(flow / duct.area, AIR.density)
    static = np.where(on, np.maximum(_finite(whole, flow, values) - moving, 0.0), 0.0)
    outside = np.where(on, values["air_kept"] * flow, 0.0)
    return Moved(flow, outside, static, _filter(values) * np.square(flow))


def flow_without_duct(values: Values) -> Floats:
    """Air that the machine blows with its hose off [m3/s]."""
    way = _filter(values) + _inner(values)
    bare = Pipe(values["duct_bore"], 0.0, airflow.SMOOTH)
    return airflow.flow_through(_fan(values), bare, AIR, airflow.EXIT, way)


def _finite(whole: Floats, flow: Floats, values: Values) -> Floats:
    """The pressure lost outside; a shut duct holds all that the fan gives."""
    dead = values["fan_strength"] * values["fan_pressure"]
    return np.where((flow > 0.0) & np.isfinite(whole), whole, dead)


def _fan(values: Values) -> Fan:
    return Fan(values["fan_strength"] * values["fan_pressure"], values["fan_flow"])


def _filter(values: Values) -> Floats:
    open_share = np.maximum(MESH * values["filter_open"], MESH * NARROWEST)
    return loss_resistance(screen_loss(open_share), FILTER_AREA, AIR.density)


def _inner(values: Values) -> Floats:
    narrow = np.square(np.maximum(values["inner_open"], NARROWEST))
    return loss_resistance(INNER_LOSS / narrow, INNER_AREA, AIR.density)


def _exchanger(values: Values) -> Floats:
    narrow = np.square(np.maximum(values["exchanger_open"], 0.05))
    return loss_resistance(EXCHANGER / narrow, INNER_AREA, AIR.density)


def _fittings(values: Values) -> Floats:
    """Bends, the narrowest place, flap and exit, as K on the duct's area.

    A narrow place loses what a sudden widening behind it does, (1/a - 1)^2 (Borda-Carnot;
    White, Fluid Mechanics, section 6.9); a flap that opens by a share loses its K by a^2.
    """
    narrow = np.maximum(values["duct_open"], NARROWEST)
    flap = np.maximum(values["hood_open"], NARROWEST)
    bends = airflow.BEND * values["duct_bends"]
    return np.asarray(bends + np.square(1.0 / narrow - 1.0) + (FLAP + airflow.EXIT) / flap**2)


def _dry_density() -> Floats:
    """Dry air in a cubic metre on its way [kg/m3]."""
    return 1.0 / moist_air.volume(318.15, 0.02)
