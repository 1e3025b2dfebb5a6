"""Published values of the energy label, water hardness, dose and loads."""

from __future__ import annotations

import pytest

import printed
from tubside.physics import labels, wash

KWH = 3.6e6
POUND = 0.45359237
MILLIGRAM = wash.HARDNESS_SCALES["mg/L CaCO3"]


def label() -> dict[str, float]:
    """Return standard energies, weights and the index of one machine."""
    full, half, quarter = (float(x) for x in labels.load_weights(8.0))
    energy = labels.weighted_energy(0.9 * KWH, 0.6 * KWH, 0.35 * KWH, 8.0)
    return {
        **{f"standard energy, {c} kg": float(labels.standard_energy(c)) / KWH for c in (7, 8, 9)},
        "weight of the full load, 8 kg": full,
        "weight of half the load, 8 kg": half,
        "weight of a quarter of the load, 8 kg": quarter,
        "index of 0.9, 0.6, 0.35 kWh, 8 kg": float(labels.energy_index(energy, 8.0)),
    }


def hardness() -> dict[str, float]:
    """Return scales of hardness in mg/L of calcium carbonate, and mixed ones."""
    scales = wash.HARDNESS_SCALES
    return {
        "1 °dH in mg/L": scales["°dH"] / MILLIGRAM,
        "1 °dH in mmol/L": scales["°dH"],
        "1 gpg in mg/L": scales["gpg"] / MILLIGRAM,
        "1 °Clark in mg/L": scales["°Clark"] / MILLIGRAM,
        "1 °fH in mg/L": scales["°fH"] / MILLIGRAM,
        "1 °fH in °dH": scales["°fH"] / scales["°dH"],
        "14 °dH in mg/L": 14.0 * scales["°dH"] / MILLIGRAM,
        "14 °dH in mmol/L": float(wash.hardness_of(14.0, "°dH")),
    }


def loads_and_doses() -> dict[str, dict[str, float]]:
    """Return data of regulations and standards as the code holds them."""
    return {
        "ec_648_2004": {
            "standard load": wash.STANDARD_LOAD,
            "delicate load": wash.DELICATE_LOAD,
            "medium hardness": wash.STANDARD_HARDNESS,
        },
        "iec_60456": {
            "base dose of no load, g": 1e3 * float(wash.base_dose(0.0)),
            "more for each kg, g": 1e3 * float(wash.base_dose(1.0) - wash.base_dose(0.0)),
        },
        "uk_si_1996_601": {
            f"class A, {kind}, kWh/kg": most / KWH
            for kind, most in labels.OLD_DRYER_CLASS_A.items()
        },
        "iso_9398_4": {"drum for 1 kg, L": 1e3 * wash.DRUM_PER_LOAD},
        "fr_86_49158": {
            "small load of 1 cubic foot, lb": float(labels.small_test_load(0.3048**3)) / POUND,
            "more for each cubic foot, lb": float(
                labels.small_test_load(2 * 0.3048**3) - labels.small_test_load(0.3048**3)
            )
            / POUND,
        },
    }


DATA = loads_and_doses()
OURS: dict[str, dict[str, float]] = {
    "eu_energy_label": label(),
    "hardness_scales": hardness(),
    "ec_648_2004": DATA["ec_648_2004"],
    "iec_60456": DATA["iec_60456"],
    "uk_si_1996_601": DATA["uk_si_1996_601"],
    "iso_9398_4": DATA["iso_9398_4"],
    "fr_86_49158": DATA["fr_86_49158"],
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("name", OURS)
def test_every_value_is_listed(name: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(name)} == set(OURS[name])
