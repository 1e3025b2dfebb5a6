"""Tests of water, heat and level against the libraries iapws, CoolProp, fluids and scipy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tubside.physics import drain, filling, heater, inlet, pipes, restrictions, water
from tubside.physics.standard import ATMOSPHERE, STANDARD_GRAVITY

KELVINS = np.linspace(273.2, 373.1, 23)


@pytest.fixture(scope="module")
def iapws() -> Any:
    """Return iapws and its part of single formulas."""
    pytest.importorskip("iapws")
    return pytest.importorskip("iapws._iapws")


@pytest.fixture(scope="module")
def coolprop() -> Any:
    """Return CoolProp's table of properties by name."""
    return pytest.importorskip("CoolProp.CoolProp").PropsSI


@pytest.fixture(scope="module")
def fluids() -> Any:
    """Return fluids."""
    return pytest.importorskip("fluids")


def test_iapws_counts_right(iapws: Any) -> None:
    """Tests the oracle by IF97 table 5 (300 K, 3 MPa) and R12-08 table 4 (from memory)."""
    state = pytest.importorskip("iapws").IAPWS97(T=300, P=3)
    assert state.v == pytest.approx(0.00100215168, rel=1e-8)
    assert state.h == pytest.approx(115.331273, rel=1e-8)
    assert state.cp == pytest.approx(4.17301218, rel=1e-8)
    assert iapws._Viscosity(998, 298.15) * 1e6 == pytest.approx(889.735100, rel=1e-8)


def test_same_release(iapws: Any) -> None:
    """Tests that our formulas are those of the release, to all digits."""
    theirs = [iapws._Liquid(kelvin) for kelvin in KELVINS]
    assert water.density(KELVINS) == pytest.approx([s["rho"] for s in theirs], rel=1e-12)
    assert water.heat_capacity(KELVINS) / 1e3 == pytest.approx([s["cp"] for s in theirs], rel=1e-11)
    assert water.viscosity(KELVINS) == pytest.approx([s["mu"] for s in theirs], rel=1e-12)
    heat = [s["g"] + kelvin * s["s"] for s, kelvin in zip(theirs, KELVINS, strict=True)]
    assert water.enthalpy(KELVINS) / 1e3 == pytest.approx(heat, abs=1e-8)


def test_full_equation_of_state(coolprop: Any) -> None:
    """Tests against IAPWS-95 at one atmosphere: 0.01 kg/m3, 0.01 % heat, 0.1 % viscosity."""
    rho, cp, mu, h = (
        np.array([coolprop(name, "T", kelvin, "P", ATMOSPHERE, "Water") for kelvin in KELVINS])
        for name in ("D", "C", "V", "H")
    )
    assert water.density(KELVINS) == pytest.approx(rho, abs=0.01)
    assert water.heat_capacity(KELVINS) == pytest.approx(cp, rel=1e-4)
    assert water.viscosity(KELVINS) == pytest.approx(mu, rel=1e-3)
    ours = water.enthalpy(KELVINS)
    assert ours[1:] - ours[0] == pytest.approx(h[1:] - h[0], rel=1e-4)


def test_known_densities(coolprop: Any) -> None:
    """Tests the densities at which iapws and CoolProp agree (1 atm), within 0.01."""
    at = {5: 999.967, 20: 998.207, 40: 992.216, 60: 983.196, 80: 971.790}
    for celsius, expected in at.items():
        assert float(water.density(celsius + 273.15)) == pytest.approx(expected, abs=0.01)
        theirs = coolprop("D", "T", celsius + 273.15, "P", ATMOSPHERE, "Water")
        assert theirs == pytest.approx(expected, abs=0.001)


def test_vapour_at_the_siphon(coolprop: Any) -> None:
    """Tests the limit of a siphon against the steam tables' vapour pressure, within 10 mm."""
    kelvins = np.linspace(274.0, 333.0, 7)
    vapour = np.array([coolprop("P", "T", kelvin, "Q", 0, "Water") for kelvin in kelvins])
    expected = (ATMOSPHERE - vapour) / (water.density(kelvins) * STANDARD_GRAVITY)
    assert drain.siphon_height_limit(kelvins) == pytest.approx(expected, abs=0.01)


def test_colebrook(fluids: Any) -> None:
    """Tests the friction factor against an exact solution, laminar and turbulent, to 1e-9."""
    numbers = np.concatenate([np.geomspace(1, 1999, 9), np.geomspace(4000, 9e7, 40)])
    for rough in (0.0, 1e-6, 1e-4, 1.3e-3, 0.01, 0.05):
        exact = [
            64 / re if re < pipes.LAMINAR else fluids.friction.Colebrook(re, rough)
            for re in numbers.tolist()
        ]
        assert pipes.friction_factor(numbers, rough) == pytest.approx(exact, rel=1e-9)


def test_pressure_lost_in_a_pipe(fluids: Any) -> None:
    """Tests Darcy-Weisbach of a whole hose against the same library, to 1e-9."""
    pipe = pipes.Pipe(bore=0.010, length=1.5, roughness=1e-5)
    rho, mu = float(water.density(285.15)), float(water.viscosity(285.15))
    for flow in (1e-5, 5e-5, 2e-4, 8e-4):
        theirs = fluids.one_phase_dP(
            m=rho * flow, rho=rho, mu=mu, D=0.010, roughness=1e-5, L=1.5, Method="Colebrook"
        )
        head = pipes.head_loss(pipe, flow / pipe.area, mu / rho)
        if not pipes.LAMINAR < 4 * flow / (np.pi * 0.010 * mu / rho) < pipes.TURBULENT:
            assert float(head) * rho * STANDARD_GRAVITY == pytest.approx(theirs, rel=1e-9)


def test_screen_and_valve(fluids: Any) -> None:
    """Tests the screen's loss over its range, Kv of the standard's example, and Cv."""
    filters = pytest.importorskip("fluids.filters")
    for share in (0.05, 0.2, 0.4, 0.8):
        theirs = filters.round_edge_screen(share, 500.0)
        assert float(restrictions.screen_loss(share)) == pytest.approx(theirs, rel=1e-12)
    sizing = pytest.importorskip("fluids.control_valve").size_control_valve_l
    found = sizing(
        rho=965.4,
        Psat=70.1e3,
        Pc=22.12e6,
        mu=3.1472e-4,
        P1=680e3,
        P2=220e3,
        Q=0.1,
        D1=0.15,
        D2=0.15,
        d=0.15,
        FL=0.9,
        Fd=0.46,
    )
    assert float(restrictions.kv_of(0.1, 460e3, 965.4)) == pytest.approx(found, rel=1e-6)
    assert float(restrictions.kv_to_cv(2.0)) == pytest.approx(fluids.Kv_to_Cv(2.0), rel=1e-6)


def test_lying_tub(fluids: Any) -> None:
    """Tests the volume of a lying cylinder, and the depth from it, at every filling."""
    theirs = fluids.TANK(D=0.54, L=0.40, horizontal=True)
    depths = np.linspace(0.001, 0.539, 30)
    volumes = filling.lying_volume(depths, 0.27, 0.40)
    assert volumes == pytest.approx([theirs.V_from_h(depth) for depth in depths], rel=1e-9)
    assert filling.lying_depth(volumes, 0.27, 0.40) == pytest.approx(depths, abs=0.54e-6)


def exact_inlet(fluids: Any, pressure: float, screen: float) -> float:
    """Return the flow at which the pressures of a line add up, by a bracketing root finder."""
    line, rho = inlet.USUAL_LINE, float(water.density(inlet.COLD))
    nu = float(water.viscosity(inlet.COLD)) / rho

    def missing(flow: float) -> float:
        lost = 0.0
        for pipe, extra in ((line.pipe, 0.0), (line.hose, float(np.asarray(line.bends)))):
            speed = flow / float(pipe.area)
            re = speed * float(np.asarray(pipe.bore)) / nu
            factor = fluids.friction.Colebrook(re, 1.5e-6 / float(np.asarray(pipe.bore)))
            length = float(np.asarray(pipe.length)) / float(np.asarray(pipe.bore))
            lost += (factor * length + extra) * rho * speed**2 / 2
        for kv in (1.5, 0.7):
            lost += (flow * 3600 / kv) ** 2 * 1e5 * rho / 999.103
        seat = np.pi / 4 * 0.015**2
        loss = fluids.filters.round_edge_screen(0.4 * screen, 500.0)
        return float(pressure - lost - loss * rho * (flow / seat) ** 2 / 2)

    return float(brentq(missing, 1e-6, 1e-2, xtol=1e-14))


@pytest.mark.parametrize("pressure", [60e3, 200e3, 350e3, 1e6])
@pytest.mark.parametrize("screen", [1.0, 0.3, 0.15])
def test_inlet_by_root_finding(fluids: Any, pressure: float, screen: float) -> None:
    """Tests that a few settling steps find the flow of the whole line to 1e-5."""
    pytest.importorskip("fluids.filters")
    ours = inlet.inlet_flow(pressure, 1.0, inlet.Openings(screen=screen))
    assert float(ours) == pytest.approx(exact_inlet(fluids, pressure, screen), rel=1e-5)


@pytest.mark.parametrize("opening", [1.0, 0.2, 0.05])
@pytest.mark.parametrize("strength", [1.0, 0.6])
def test_drain_by_integration(opening: float, strength: float) -> None:
    """Tests the closed form of the drain's time against an integration, within 1 %."""
    pump = drain.DrainPump(2.0, 6e-4, strength)
    tub = drain.Emptying(pump, area=0.25, end_height=0.9, drain_open=opening)
    seconds = float(drain.drain_time(tub, 0.25, 0.0))

    def falling(_t: float, depth: Any) -> Any:
        return -drain.drain_flow(pump, 0.9 - depth, opening) / 0.25

    path = solve_ivp(falling, (0.0, seconds), [0.25], rtol=1e-9, atol=1e-9)
    left = float(path.y[0, -1])
    assert left == pytest.approx(0.0, abs=0.0025)


def test_heater_by_integration() -> None:
    """Tests the closed form of the heater against an integration, to 1e-6 K."""
    bath = heater.Bath(capacity=70e3, loss=12.0, room=293.15)
    path = solve_ivp(
        lambda _t, kelvin: heater.rise_rate(bath, 1800.0, kelvin),
        (0.0, 1500.0),
        [288.15],
        rtol=1e-10,
        atol=1e-9,
    )
    assert float(heater.heated(bath, 1800.0, 288.15, 1500.0)) == pytest.approx(
        float(path.y[0, -1]), abs=1e-6
    )
