"""Published examples of what a check is worth, in money and in bits."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

import printed
from tubside.diagnosis.worth import (
    evpi,
    evsi,
    information_gain,
    posterior,
    predictive,
    surprise,
    value_now,
    value_with,
)

WELLS = np.array([0.5, 0.3, 0.2])
SEISMIC = np.array([[0.1, 0.3, 0.6], [0.3, 0.4, 0.3], [0.5, 0.4, 0.1]])
DRILL = np.array([[-70.0, 0.0], [50.0, 0.0], [200.0, 0.0]])

CAR = np.array([0.7, 0.3])
TESTS = (
    (np.array([[0.8, 0.05, 0.15], [0.05, 0.75, 0.2]]), ("ok", "defects", "inconclusive")),
    (np.array([[0.8, 0.2], [0.25, 0.75]]), ("ok", "defects")),
)

LAND = np.array([0.25, 0.75])
SOUNDING = np.array([[0.6, 0.4], [0.2, 0.8]])
LAND_MONEY = np.array([[700.0, 90.0], [-100.0, 90.0]])


def wildcatter() -> dict[str, float]:
    """Return every figure of the oil wildcatter."""
    drilling = {
        f"drilling after {name}": float(posterior(WELLS, SEISMIC, o) @ DRILL[:, 0])
        for o, name in enumerate(("closed", "open", "diffuse"))
    }
    chances = dict(
        zip(
            ("P(closed)", "P(open)", "P(diffuse)"),
            map(float, predictive(WELLS, SEISMIC)),
            strict=True,
        )
    )
    return {
        "no test": value_now(WELLS, DRILL),
        "with test": value_with(WELLS, SEISMIC, DRILL) - 10,
        "EVSI": evsi(WELLS, SEISMIC, DRILL),
        "EVPI": evpi(WELLS, DRILL),
        **chances,
        **drilling,
    }


def used_car() -> dict[str, float]:
    """Return chances of the outcomes, posteriors and bits of both tests."""
    found: dict[str, float] = {}
    for number, (table, names) in enumerate(TESTS, 1):
        found[f"test {number} gain, bits"] = information_gain(CAR, table)
        for o, name in enumerate(names):
            found[f"test {number} P({name})"] = float(predictive(CAR, table)[o])
            found[f"test {number} P(defect | {name})"] = float(posterior(CAR, table, o)[1])
    return found


def two_lotteries() -> dict[str, float]:
    """Return worth of perfect information in Clemen and Reilly's problems 12.2 and 12.4."""
    one = np.array([0.1, 0.2, 0.6, 0.1])
    two = np.array([0.7, 0.3])
    pairs = list(product(range(4), range(2)))
    prior = np.array([one[i] * two[j] for i, j in pairs])
    first, second = np.array([20.0, 10.0, 0.0, -10.0]), np.array([5.0, -1.0])
    money = np.array([[first[i], second[j]] for i, j in pairs])
    telling_e = np.eye(4)[[i for i, _ in pairs]]
    telling_f = np.eye(2)[[j for _, j in pairs]]
    alone = np.array([[20.0, 6.0], [10.0, 6.0], [5.0, 6.0], [0.0, 6.0]])
    return {
        "12.2 EMV(A)": value_now(one, alone),
        "12.2 EVPI": evpi(one, alone),
        "12.4a EVPI of E": evsi(prior, telling_e, money),
        "12.4b EVPI of F": evsi(prior, telling_f, money),
        "12.4c EVPI of E and F": evpi(prior, money),
    }


def land() -> dict[str, float]:
    """Return the figures of the land that may hold oil."""
    return {
        "P(favourable)": float(predictive(LAND, SOUNDING)[0]),
        "P(oil | favourable)": float(posterior(LAND, SOUNDING, 0)[0]),
        "P(oil | unfavourable)": float(posterior(LAND, SOUNDING, 1)[0]),
        "expected payoff with perfect information": value_now(LAND, LAND_MONEY)
        + evpi(LAND, LAND_MONEY),
        "EVPI": evpi(LAND, LAND_MONEY),
        "EVSI": evsi(LAND, SOUNDING, LAND_MONEY),
    }


def submarine() -> dict[str, float]:
    """Return what shots of the submarine game tell, with 64 squares at first."""
    return {
        "h of the 1st miss": surprise(63 / 64),
        "h of the 2nd miss": surprise(62 / 63),
        "h of the 32nd miss": surprise(32 / 33),
        "h of the 48th miss": surprise(16 / 17),
        "h of the hit at shot 49": surprise(1 / 16),
        "total after 2 shots": surprise(62 / 64),
        "total after 32 shots": surprise(32 / 64),
        "total after 48 shots": surprise(16 / 64),
        "total after the hit": surprise(16 / 64 / 16),
    }


OURS: dict[str, dict[str, float]] = {
    "raiffa_1968": wildcatter(),
    "jensen_nielsen_2007_car": used_car(),
    "clemen_reilly_2001": two_lotteries(),
    "hillier_lieberman": land(),
    "mackay_2003_submarine": submarine(),
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("table", OURS)
def test_every_value_is_listed(table: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(table)} == set(OURS[table])
