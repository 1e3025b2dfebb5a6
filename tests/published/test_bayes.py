"""Published examples of diagnosis by Bayes' rule, worked as one node over joint states."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

import printed
from tubside.diagnosis.worth import Floats, joint, posterior, predictive
from tubside.pack.complaint import off_chances


def yes(chance: float, *, state: int) -> float:
    """Return the chance of a yes (1) or no (0)."""
    return chance if state else 1.0 - chance


def table(*chances: float) -> Floats:
    """Return a table of P(yes), P(no) with one row for each hypothesis."""
    return np.array([[p, 1.0 - p] for p in chances])


def telling(states: Floats) -> Floats:
    """Return the table of an observation that never errs."""
    return np.column_stack([states, 1.0 - states])


def one_test(prevalence: float, sensitivity: float, false_alarm: float) -> float:
    """Return the chance of the disease after a positive test."""
    prior = np.array([prevalence, 1.0 - prevalence])
    return float(posterior(prior, table(sensitivity, false_alarm), 0)[0])


class Burglary:
    """Burglary, earthquake and alarm as joint states; two neighbours may call."""

    def __init__(self, burglar_only: float) -> None:
        rings = {(1, 1): 0.95, (1, 0): burglar_only, (0, 1): 0.29, (0, 0): 0.001}
        states = list(product((1, 0), repeat=3))
        self.prior = np.array(
            [
                yes(0.001, state=b) * yes(0.002, state=e) * yes(rings[b, e], state=a)
                for b, e, a in states
            ]
        )
        self.burglary, self.earthquake, self.alarm = np.array(states, dtype=float).T
        self.john = table(*(0.9 if a else 0.05 for a in self.alarm))
        self.mary = table(*(0.7 if a else 0.01 for a in self.alarm))


def third_edition() -> dict[str, float]:
    """Return the burglary answers and the noisy-OR table of fever."""
    net = Burglary(0.94)
    both = posterior(posterior(net.prior, net.john, 0), net.mary, 0)
    q = np.array([[0.4], [0.8], [0.9]])
    sets = np.array(list(product((0, 1), repeat=3)), dtype=bool)
    fever = 1.0 - off_chances(sets, q, np.zeros(1))[:, 0]
    names = ["".join(n for n, s in zip("CFM", row, strict=True) if s) or "none" for row in sets]
    return {
        "P(burglary | John, Mary)": float(net.burglary @ both),
        "P(no burglary | John, Mary)": float(1 - net.burglary @ both),
        **{f"P(fever | {n})": float(p) for n, p in zip(names, fever, strict=True)},
    }


def first_edition() -> dict[str, float]:
    """Return the answers of the older table, in which a burglar alone rings at .95."""
    net = Burglary(0.95)
    rang = posterior(net.prior, telling(net.alarm), 0)
    quake = posterior(rang, telling(net.earthquake), 0)
    called = posterior(posterior(net.prior, net.john, 0), telling(net.earthquake), 1)
    return {
        "P(burglary | alarm)": float(net.burglary @ rang),
        "P(burglary | alarm, earthquake)": float(net.burglary @ quake),
        "P(alarm | John, no earthquake)": float(net.alarm @ called),
    }


def vidakovic() -> dict[str, float]:
    """Return what neighbours do when there is a burglary."""
    net = Burglary(0.94)
    burgled = posterior(net.prior, telling(net.burglary), 0)
    mary = float(predictive(burgled, net.mary)[0])
    john = float(predictive(posterior(burgled, net.mary, 0), net.john)[0])
    return {"P(John, Mary | burglary)": mary * john, "P(John | Mary, burglary)": john}


def leaky_alarm() -> dict[str, float]:
    """Return MacKay's burglar alarm: noisy-OR with leak."""
    sets = np.array([[0, 0], [1, 0], [0, 1], [1, 1]], dtype=bool)
    prior = np.array([yes(0.001, state=b) * yes(0.001, state=e) for b, e in sets])
    rings = 1.0 - off_chances(sets, np.array([[0.99], [0.01]]), np.array([0.001]))[:, 0]
    after = posterior(prior, table(*rings), 0)
    quake = float(after[2] + after[3])
    return {
        "P(no burglar | alarm)": float(after[0] + after[2]),
        "P(burglar | alarm)": float(after[1] + after[3]),
        "P(earthquake | alarm)": quake,
        "P(burglar | alarm, earthquake)": float(after[3]) / quake,
        "P(no burglar | alarm, earthquake)": float(after[2]) / quake,
        "P(disease | positive), example 2.3": one_test(0.01, 0.95, 0.05),
    }


def fuel() -> dict[str, float]:
    """Return Bishop's unreliable fuel gauge; states are battery and tank."""
    prior = np.array([0.81, 0.09, 0.09, 0.01])
    gauge = table(0.8, 0.2, 0.2, 0.1)
    after = posterior(prior, gauge, 1)
    return {
        "p(G=0)": float(predictive(prior, gauge)[1]),
        "p(G=0 | F=0)": float((prior * gauge[:, 1])[[1, 3]].sum() / 0.1),
        "p(F=0 | G=0)": float(after[1] + after[3]),
        "p(F=0 | G=0, B=0)": float(after[3] / (after[2] + after[3])),
    }


def chest_clinic() -> dict[str, float]:
    """Return chances of lung cancer in the chest clinic, by enumeration."""
    states = list(product((1, 0), repeat=3))  # visit to Asia, tuberculosis, cancer
    cancer = np.array([c for _, _, c in states], dtype=float)
    asia = np.array([a for a, _, _ in states], dtype=float)
    prior = np.array(
        [
            yes(0.01, state=a) * yes(0.05 if a else 0.01, state=t) * yes(0.055, state=c)
            for a, t, c in states
        ]
    )
    xray = table(*(0.98 if t or c else 0.05 for _, t, c in states))
    abnormal = posterior(prior, xray, 0)
    return {
        "P(cancer)": float(cancer @ prior),
        "P(cancer | abnormal)": float(cancer @ abnormal),
        "P(cancer | abnormal, Asia)": float(cancer @ posterior(abnormal, telling(asia), 0)),
    }


def flu() -> dict[str, float]:
    """Return joint chances of perceived fever; states are flu and cold."""
    states = list(product((0, 1), repeat=2))
    prior = np.array([yes(0.0001, state=f) * yes(0.01, state=c) for f, c in states])
    both = joint(prior, table(0.01, 0.10, 0.90, 0.95))[:, 0]
    names = ("neither", "cold only", "flu only", "both")
    return {
        **{f"P(fever, {n})": float(p) for n, p in zip(names, both, strict=True)},
        "P(fever, no flu)": float(both[:2].sum()),
        "P(fever, flu)": float(both[2:].sum()),
    }


def three_diseases() -> dict[str, float]:
    """Return the chance of each disease after a positive test."""
    after = posterior(np.full(3, 1 / 3), table(0.8, 0.6, 0.4), 0)
    return {f"P(d{i + 1} | +)": float(p) for i, p in enumerate(after)}


def by_base_rate(ate: float) -> float:
    """Return Barber's P(disease | ate) from P(ate | disease) and how many eat."""
    sick = 1e-5
    others = (ate - 0.9 * sick) / (1.0 - sick)
    return one_test(sick, 0.9, others)


OURS: dict[str, dict[str, float]] = {
    "russell_norvig_2010": third_edition(),
    "russell_norvig_1995": first_edition(),
    "vidakovic_2011": vidakovic(),
    "mackay_2003": leaky_alarm(),
    "bishop_2006": fuel(),
    "lauritzen_spiegelhalter_1988": chest_clinic(),
    "baclawski_niu_2006": flu(),
    "grinstead_snell_1997": three_diseases(),
    "gigerenzer_hoffrage_1995": {"P(cancer | positive)": one_test(0.01, 0.80, 0.096)},
    "lippman_2017": {
        "P(disease | positive), .1 %": one_test(0.001, 1.0, 0.05),
        "P(disease | positive), 2 %": one_test(0.02, 0.90, 0.01),
    },
    "barber_2012": {"half eat": by_base_rate(0.5), "one in 1000 eats": by_base_rate(0.001)},
}


@pytest.mark.parametrize("row", printed.rows(*OURS), ids=str)
def test_value(row: printed.Row) -> None:
    """Tests that a printed value comes out, or does not where the table says so."""
    printed.check(row, OURS[row.table][row.item])


@pytest.mark.parametrize("name", OURS)
def test_every_value_is_listed(name: str) -> None:
    """Tests that table and computation hold the same items."""
    assert {row.item for row in printed.rows(name)} == set(OURS[name])
