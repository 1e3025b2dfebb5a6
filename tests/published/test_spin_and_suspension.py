"""Published values of spin, suspension and remaining moisture."""

from __future__ import annotations

import numpy as np
import pytest

import printed
from tubside.physics import floating, labels, spin, suspension

RPM = 2.0 * np.pi / 60.0


def thomson() -> dict[str, float]:
    """Return example 2.7-1 in its own units (pound, inch): the formulas know no units."""
    mass = 10.0 / 386.0
    zeta = suspension.damping_ratio(0.12, 30.0, mass)
    return {
        "natural frequency, w 10 lb, k 30 lb/in": float(suspension.natural_frequency(30.0, mass)),
        "critical damping": float(suspension.critical_damping(30.0, mass)),
        "damping ratio, c 0.12 lb s/in": float(zeta),
        "logarithmic decrement": float(suspension.decrement(zeta)),
        "ratio of successive swings": float(1.0 / suspension.swing_ratio(zeta)),
    }


def lecture() -> dict[str, float]:
    """Return example 8.4: two ways to the decrement of three swings read off a plot."""
    first = suspension.ratio_of_amplitudes(0.85, 0.45)
    both = suspension.ratio_of_amplitudes(0.85, 0.25, 2.0)
    return {
        "decrement, 0.85 to 0.45": float(suspension.decrement(first)),
        "damping ratio, 0.85 to 0.45": float(first),
        "decrement, 0.85 to 0.25 in two": float(suspension.decrement(both)),
    }


def exercises() -> dict[str, float]:
    """Return exercises whose book is not known."""
    return {
        "decrement, c 40, critical 420": float(suspension.decrement(40.0 / 420.0)),
        "critical damping, 8 kg, 5.4 N/mm": float(suspension.critical_damping(5400.0, 8.0)),
        "damping ratio, c 40": float(suspension.damping_ratio(40.0, 5400.0, 8.0)),
        "resonance, fan sinks 0.38 cm": float(suspension.frequency_of_sink(0.0038, 9.8)) / RPM,
    }


def rao() -> dict[str, float]:
    """Return example 2.11: a quarter of the swing after half a bounce, period 2 s, 200 kg."""
    zeta = suspension.ratio_of_amplitudes(1.0, 0.25, 0.5)
    own = np.pi / np.sqrt(1.0 - np.square(zeta))
    stiffness = 200.0 * np.square(own)
    return {
        "decrement": float(suspension.decrement(zeta)),
        "damping ratio": float(zeta),
        "natural frequency": float(suspension.natural_frequency(stiffness, 200.0)),
        "damping constant": float(zeta * suspension.critical_damping(stiffness, 200.0)),
        "stiffness": float(stiffness),
    }


def washing_machine() -> dict[str, float]:
    """Return the problem of the unbalanced washer: 10 kg of 20 kg, 0.25 m, 1000 N/m, 250 rpm."""
    ratio = 250.0 * RPM / suspension.natural_frequency(1000.0, 20.0)
    swing = spin.amplitude(10.0 * 0.25, 20.0, ratio, 0.05)
    return {
        "swing": float(swing),
        "force on the floor": float(spin.floor_force(swing, 1000.0, ratio, 0.05)),
    }


def balance_grade() -> dict[str, float]:
    """Return what G 6.3 allows 10 kg at 3000 turns a minute, by the law and by its short form."""
    allowed = float(spin.permissible_unbalance(6.3e-3, 10.0, 3000.0 * RPM))
    return {
        "offset of the mass, um": allowed / 10.0 * 1e6,
        "unbalance, g mm": allowed * 1e6,
        "constant of U = 9549 G m / n": allowed * 1e6 * 3000.0 / 6.3 / 10.0,
    }


def moisture() -> dict[str, float]:
    """Return remaining moisture and the places of the ends of its classes."""
    left = float(labels.moisture(7.2, 5.0))
    ends = {
        f"class from {round(100 * end)} %": "ABCDEFG".index(str(labels.moisture_class(end)))
        for end in (0.45, 0.54, 0.63, 0.72, 0.81, 0.90)
    }
    return {
        "moisture of 7.2 kg wet, 5.0 kg dry": left,
        "class of 44 %": "ABCDEFG".index(str(labels.moisture_class(left))),
        **{name: float(place) for name, place in ends.items()},
    }


def own_mechanics() -> dict[str, float]:
    """Return own numbers for laws that no table prints."""
    return {
        "unbalance force, 0.3 kg, 0.25 m, 1200 rpm": float(
            spin.unbalance_force(0.3, 0.25, 1200.0 * RPM)
        ),
        "damping ratio of five bounces to 10 %": float(suspension.ratio_of_bounces(5.0)),
        "transmissibility at sqrt 2, zeta 0.05": float(spin.transmissibility(np.sqrt(2.0), 0.05)),
        "transmissibility at sqrt 2, zeta 0.7": float(spin.transmissibility(np.sqrt(2.0), 0.7)),
        "draught of 5 kg on 0.12 m2, mm": 1e3 * float(floating.draught(5.0, 0.12)),
    }


OURS: dict[str, dict[str, float]] = {
    "thomson": thomson(),
    "aer_403": lecture(),
    "vibration_exercises": exercises(),
    "rao": rao(),
    "beer_johnston": washing_machine(),
    "iso_21940_11": balance_grade(),
    "centrifuge_manuals": {
        "constant of RCF = c r n^2, cm and rpm": float(spin.g_force(RPM, 0.01)) * 1e5
    },
    "eu_spin_classes": moisture(),
    "own_mechanics": own_mechanics(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("name", OURS)
def test_every_value_is_listed(name: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(name)} == set(OURS[name])
