"""P(everything measured | set): against integrals, conjugate priors, and its own promises."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import lognorm, multivariate_normal, norm

from made_models import every_set
from made_readings import QUANTITIES, made_machine, reading_check, with_readings
from tubside.diagnosis.belief import believe_sets, update_reading
from tubside.diagnosis.evidence import FAILS, IS, NONE, OVER, UNDER, Evidence, Measured, Treatment
from tubside.diagnosis.hypotheses import follow
from tubside.diagnosis.instrument import BLUNDER, blunder
from tubside.diagnosis.predicted import Predicted
from tubside.diagnosis.reading_density import (
    draw_weights,
    groups,
    largest_chance,
    reading_log,
)
from tubside.diagnosis.reading_signatures import signatures
from tubside.pack.fault_model import TO, FaultModel, Floats, Move

FINE = 0.03
"""256 drawn machines against an integral, in the worst place tried here: 3 % (0.13 dB)."""
SETS = every_set(5)
NO_CAUSE = 0
"""Row of the invented sets in which nothing is wrong."""


def chances(model: FaultModel, *readings: Measured, **more: object) -> Floats:
    """P(readings | set) of every set."""
    evidence = replace(Evidence(readings=readings), **more)  # type: ignore[arg-type]
    return np.exp(reading_log(model, evidence, follow(evidence, SETS)))


def first(model: FaultModel) -> int:
    """Index of the first reading check."""
    return next(n for n, check in enumerate(model.checks) if check.reading is not None)


def row_of(model: FaultModel, *causes: int) -> int:
    """The row of the set of these causes."""
    wanted = np.isin(np.arange(model.n_causes), causes)
    return int(np.flatnonzero((SETS.members == wanted).all(axis=1) & (SETS.healthy < 0))[0])


def without_blunders(model: FaultModel, found: float, measured: Measured) -> float:
    """The density alone [1/SI], the share of blunders taken off."""
    assert model.predicting is not None
    usual = model.predicting.usual("pressure")
    return (found - BLUNDER * blunder(usual, measured)) / (1.0 - BLUNDER) / usual.unit


@pytest.mark.parametrize("value", [7.0, 9.5, 12.0])
def test_one_reading_is_the_exact_marginal(value: float) -> None:
    """Tests that normal machines read with a normal error give the conjugate marginal."""
    model = with_readings((reading_check("pressure", plain=1.0),))
    measured = Measured(first(model), value, IS, 1)
    found = without_blunders(model, float(chances(model, measured)[NO_CAUSE]), measured)
    assert found == pytest.approx(norm.pdf(value, 10.0, np.sqrt(2.0)), rel=FINE)


def test_two_observers_share_the_machine() -> None:
    """Tests that two readings have the joint normal density of one pressure and two errors."""
    model = with_readings((reading_check("pressure", plain=1.0),))
    check = first(model)
    both = [Measured(check, 11.0, IS, 0), Measured(check, 12.5, IS, 1)]
    exact = multivariate_normal.pdf([11.0, 12.5], [10.0, 10.0], np.ones((2, 2)) + np.eye(2))
    assert model.predicting is not None
    unit = model.predicting.usual("pressure").unit
    found = float(chances(model, *both)[NO_CAUSE]) / unit**2 / (1.0 - BLUNDER) ** 2
    assert found == pytest.approx(exact, rel=0.08)  # blunders beside the two densities: 5 %


def test_machines_are_weighed_as_by_bayes() -> None:
    """Tests the pressure believed after two readings against the conjugate normal posterior."""
    model = with_readings((reading_check("pressure", plain=1.0),))
    check = first(model)
    evidence = Evidence(readings=(Measured(check, 11.5, IS, 0), Measured(check, 12.1, IS, 1)))
    rows = follow(evidence, SETS)
    (group,) = groups(model, evidence.readings)
    signed = signatures(model, [(r.reading, r.measured.epoch) for r in group], rows)
    weights = draw_weights(model, group, signed)[signed.index[NO_CAUSE]]
    assert model.predicting is not None
    pressure = model.predicting.values("pressure", [()])[0][0]
    mean = float(np.average(pressure, weights=weights))
    variance = float(np.average((pressure - mean) ** 2, weights=weights))
    assert mean == pytest.approx((10.0 + 11.5 + 12.1) / 3.0, abs=0.06)
    assert variance == pytest.approx(1.0 / 3.0, rel=0.12)


@pytest.mark.parametrize("value", [0.6, 0.9, 1.4])
@pytest.mark.parametrize("share", [0.1, 0.35])
def test_a_log_normal_parameter_matches_an_integral(value: float, share: float) -> None:
    """Tests a log-normal regulator, also out in its tails, against quadrature (scipy)."""
    model = with_readings((reading_check("regulator", share=share, plain=1e-3),))
    measured = Measured(first(model), value, IS, 1)

    def integrand(regulator: float) -> float:
        prior = lognorm.pdf(regulator, 0.2, scale=1.0)
        if share >= 0.2:
            return float(prior * norm.pdf(np.log(value / regulator), 0.0, share) / value)
        return float(prior * norm.pdf(value, regulator, np.hypot(share * regulator, 0.01)))

    exact, _ = quad(integrand, 0.2, 4.0)
    assert model.predicting is not None
    usual = model.predicting.usual("regulator")
    found = float(chances(model, measured)[NO_CAUSE]) - BLUNDER * blunder(usual, measured)
    assert found / usual.unit / (1.0 - BLUNDER) == pytest.approx(exact, rel=0.08)


def test_what_one_reading_tells_is_carried_to_another_quantity() -> None:
    """Tests that a flow is expected where the pressure just measured puts it."""
    checks = (reading_check("pressure", plain=0.2), reading_check("flow", plain=0.3))
    model = with_readings(checks, spread=3.0)
    check = first(model)
    high = Measured(check, 15.0, IS, 1)
    alone = chances(model, Measured(check + 1, 15.0, IS, 1))[NO_CAUSE]
    after = chances(model, high, Measured(check + 1, 15.0, IS, 1))[NO_CAUSE]
    assert after / chances(model, high)[NO_CAUSE] > 2.0 * alone


def test_quantities_that_share_nothing_are_independent() -> None:
    """Tests that pressure and lift form two groups, whose chances multiply."""
    model = with_readings((reading_check("pressure"), reading_check("lift", plain=0.3)))
    one, two = Measured(first(model), 9.0, IS, 1), Measured(first(model) + 1, 5.2, IS, 1)
    assert len(groups(model, [one, two])) == 2
    product = chances(model, one) * chances(model, two)
    np.testing.assert_allclose(chances(model, one, two), product, rtol=1e-12)


def test_three_readings_tend_to_knowing_and_not_to_a_cube() -> None:
    """Tests odds of low pressure: three reads of a number stay near knowing the pressure."""
    model = with_readings((reading_check("pressure", plain=1.5),))
    check, low = first(model), row_of(model, 0)
    once = [Measured(check, 8.2, IS, 1)]
    again = [Measured(check, 8.2, IS, 1, again=True) for _ in range(2)]
    others = [Measured(check, 8.2, IS, 1, again=True, instrument=str(n)) for n in range(9)]

    def odds(*readings: Measured) -> float:
        found = chances(model, *readings)
        return float(np.log(found[low] / found[NO_CAUSE]))

    known = float(norm.logpdf(8.2, 6.0, np.hypot(1.0, 0.5)) - norm.logpdf(8.2, 10.0, 1.0))
    assert abs(odds(*once, *again) - odds(*once)) < 0.5 * abs(odds(*once)) + 0.1
    assert odds(*once, *others) == pytest.approx(known, abs=0.45)
    assert abs(odds(*once, *others) - 10 * odds(*once)) > 1.0


def test_a_repeat_without_a_new_look_adds_nothing() -> None:
    """Tests that the same number told twice is one reading."""
    model = with_readings((reading_check("flow", share=0.1),))
    once = Measured(first(model), 6.0, IS, 0)
    np.testing.assert_array_equal(chances(model, once), chances(model, once, once))


def test_order_of_observers_does_not_matter() -> None:
    """Tests that readings of different people may come in any order."""
    model = with_readings((reading_check("flow", share=0.1), reading_check("pressure")))
    check = first(model)
    several = [
        Measured(check, 6.0, IS, 0),
        Measured(check, 7.0, IS, 1),
        Measured(check + 1, 9, IS, 1),
    ]
    found = [chances(model, *order) for order in permutations(several)]
    for other in found[1:]:
        np.testing.assert_allclose(other, found[0], rtol=1e-9)


def test_a_remedy_undoes_the_moves_of_what_it_cleared() -> None:
    """Tests that after clearing low pressure the pressure is again that of the sound site."""
    model = with_readings((reading_check("pressure", plain=0.5),))
    check, low = first(model), row_of(model, 0)
    treated = (Treatment(np.eye(5)[0], FAILS),)
    before = Measured(check, 6.0, IS, 1)
    after = Measured(check, 10.0, IS, 1, epoch=1, again=True, instrument="new")
    evidence = Evidence(readings=(before, after), treatments=treated)
    rows = follow(evidence, SETS)
    found = np.exp(reading_log(model, evidence, rows))
    cleared = np.flatnonzero((rows.owner == low) & ~rows.now[:, 0])
    sound = np.flatnonzero(rows.owner == NO_CAUSE)
    assert found[cleared[0]] > 20.0 * found[sound[0]]


def test_a_part_that_was_replaced_is_another_one() -> None:
    """Tests that a regulator is drawn anew once its cause was cleared, the pressure is not."""
    machine = made_machine((Move(1, 1, TO, 0.3, 0.01), Move(0, 0, TO, 4.0, 0.01)))
    predicted = Predicted(machine, QUANTITIES, 256)
    sound = predicted.values("regulator", [()])[0][0]
    renewed = predicted.values("regulator", [(0, 1)])[0][0]
    assert abs(np.corrcoef(sound, renewed)[0, 1]) < 0.2
    assert renewed.mean() == pytest.approx(sound.mean(), rel=0.02)
    site = predicted.values("pressure", [(), (0, 1)])[0]
    np.testing.assert_array_equal(site[0], site[1])


def test_limits_and_no_reading() -> None:
    """Tests over, under and none on a time that is endless for weak regulators."""
    model = with_readings((reading_check("until", share=0.02, plain=0.01),))
    check, weak = first(model), row_of(model, 1)
    over = chances(model, Measured(check, 2.0, OVER, 1))
    under = chances(model, Measured(check, 2.0, UNDER, 1))
    share = lognorm.cdf(0.5, 0.2, scale=1.0)
    assert over[NO_CAUSE] == pytest.approx((1 - BLUNDER) * share + BLUNDER * 0.36, abs=0.01)
    assert over[weak] > 0.9
    np.testing.assert_allclose(over + under, 1.0 - BLUNDER * 0.1, atol=1e-9)
    assert (chances(model, Measured(check, 0.0, NONE, 1)) < 2 * BLUNDER).all()


def test_no_reading_makes_a_cause_impossible() -> None:
    """Tests that a wild number leaves every set a chance, by way of blunders."""
    model = with_readings((reading_check("pressure", plain=0.1),))
    found = chances(model, Measured(first(model), 400.0, IS, 1))
    assert (found > 0.0).all()
    assert found.max() / found.min() < 1.5


def test_causes_without_physics_spoil_a_reading() -> None:
    """Tests that a cause listed as spoiling makes an odd number less odd, and no more."""
    check = reading_check("pressure", plain=0.2, spoiled_by=((4, 0.5),))
    model = with_readings((check,))
    odd = chances(model, Measured(first(model), 30.0, IS, 1))
    fits = chances(model, Measured(first(model), 10.0, IS, 1))
    assert odd[row_of(model, 4)] > 15.0 * odd[NO_CAUSE]
    assert fits[row_of(model, 4)] < 0.6 * fits[NO_CAUSE]


def test_a_fault_that_comes_and_goes_is_mixed() -> None:
    """Tests that a check of a running machine sees the sound value when the fault hides."""
    plain = with_readings((reading_check("pressure", plain=0.3),))
    running = with_readings((reading_check("pressure", plain=0.3, needs_fault=True),))
    shows = np.full(5, 0.25)
    plain, running = replace(plain, shows=shows), replace(running, shows=shows)
    measured = Measured(first(plain), 10.0, IS, 1)
    low = row_of(plain, 0)
    there, sound = chances(plain, measured)[[low, NO_CAUSE]]
    found = chances(running, measured)[low]
    assert found == pytest.approx(0.25 * there + 0.75 * sound, rel=1e-9)


def test_one_more_reading_is_the_quotient() -> None:
    """Tests that updating by one reading equals believing all of them at once."""
    model = with_readings((reading_check("flow", share=0.1), reading_check("pressure")))
    check = first(model)
    one, two = Measured(check, 6.0, IS, 1), Measured(check + 1, 8.0, IS, 1)
    before = believe_sets(model, Evidence(readings=(one,)), SETS)
    whole = believe_sets(model, Evidence(readings=(one, two)), SETS)
    updated = update_reading(model, before, (one,), two)
    np.testing.assert_allclose(updated.probability, whole.probability, atol=1e-12)
    assert updated.log_evidence == pytest.approx(whole.log_evidence, abs=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("value", [0.5, 6.0, 40.0])
def test_the_largest_chance_bounds_every_set(share: float, value: float) -> None:
    """Tests that no set gives more than the bound used for sets that were not kept."""
    checks = (reading_check("flow", share=share, plain=0.2), reading_check("pressure", plain=0.4))
    model = with_readings(checks)
    check = first(model)
    readings = (
        Measured(check, value, IS, 1),
        Measured(check, value * 1.02, IS, 1, again=True),
        Measured(check + 1, 9.0, IS, 1),
    )
    assert chances(model, *readings).max() <= largest_chance(model, readings)


@pytest.mark.parametrize("own", [0.2, 3.0])
def test_an_error_told_with_the_number_stands_for_the_checks(own: float) -> None:
    """Tests the conjugate marginal of a number that came with a deviation of its own."""
    model = with_readings((reading_check("pressure", plain=1.0),))
    measured = Measured(first(model), 11.5, IS, 1, error=own)
    found = without_blunders(model, float(chances(model, measured)[NO_CAUSE]), measured)
    assert found == pytest.approx(norm.pdf(11.5, 10.0, np.hypot(1.0, own)), rel=FINE)
