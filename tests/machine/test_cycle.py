"""Tests of whole cycles: water balance, order, company, and sets of causes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_machines import machine_of, model_of, played, putting, sound
from tubside.machine.cycle import Cycle
from tubside.machine.draws import base_draws, values_with
from tubside.machine.quantities import QUANTITIES

FAMILIES = ("top_load", "front_load")


def numbers_of(cycle: Cycle) -> dict[str, np.ndarray]:
    """What tells one cycle from another, one number a machine each."""
    return {
        "fill": cycle.fill.seconds,
        "level": cycle.fill.level,
        "wash": cycle.washed.temperature,
        "margin": cycle.washed.margin,
        "drain": cycle.drained.seconds,
        "left": cycle.drained.left,
        "speed": cycle.spun.speed,
        "swing": cycle.spun.swing,
        "came": cycle.came,
        "gone": cycle.gone,
    }


@settings(deadline=None, max_examples=60)  # the first draw loads scipy
@given(
    family=st.sampled_from(FAMILIES),
    seed=st.integers(0, 10_000),
    picks=st.lists(st.integers(0, 1000), max_size=4),
)
def test_any_causes_keep_the_water_and_stay_finite(
    family: str, seed: int, picks: list[int]
) -> None:
    """Tests that whatever causes are inside, the water balances and every number is one."""
    machine = machine_of(family)
    moving = sorted({move.cause for move in machine.moves})
    causes = {moving[pick % len(moving)] for pick in picks} if moving else set()
    values = values_with(machine, base_draws(machine, 16, seed), causes)
    cycle, found = played(family, values)
    assert cycle.came == pytest.approx(cycle.gone + cycle.left, abs=1e-9)
    for name, numbers in numbers_of(cycle).items():
        if name == "margin":
            assert not np.isnan(numbers).any()
        else:
            assert np.isfinite(numbers).all(), name
    stops = found.first >= 0
    assert (found.part[stops] >= 0).all()
    assert found.reached[found.first[stops], np.flatnonzero(stops)].all()
    assert (found.shown <= found.reached).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_a_machine_plays_the_same_in_any_company(family: str) -> None:
    """Tests that one machine's cycle does not hang on which others are played with it."""
    values = sound(family, 32, seed=5)
    together, _ = played(family, values)
    alone, _ = played(family, {name: value[11:12] for name, value in values.items()})
    whole = numbers_of(together)
    for name, numbers in numbers_of(alone).items():
        assert numbers[0] == pytest.approx(whole[name][11], rel=1e-12), name


@pytest.mark.parametrize("family", FAMILIES)
def test_same_seed_same_cycle(family: str) -> None:
    """Tests that a seed plays the same cycle again."""
    first, again = (numbers_of(played(family, sound(family, 8, seed=2))[0]) for _ in range(2))
    for name, numbers in first.items():
        assert np.array_equal(numbers, again[name])


def test_no_cause_is_no_water_lost() -> None:
    """Tests that a sound machine sends down the drain what it took, but for what laundry holds."""
    values = sound("top_load", 64)
    cycle, _ = played("top_load", values)
    held = values["water_held"] * values["load_mass"] * 1.0001
    assert (cycle.left <= held + values["tub_area"] * 0.04 + values["sump_volume"]).all()
    assert (cycle.washed.spilled == 0.0).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_litres_of_a_cycle_are_those_of_such_machines(family: str) -> None:
    """Tests the water of a wash and one rinse against published figures, roughly.

    Top-loaders: 18 to 40 US gallons (68 to 150 L) a load, efficient to agitator (US
    agencies' figures, second hand). Front-loaders: about 50 L a wash of several rinses
    (UKERC BNW05), so at most that with one.
    """
    cycle, _ = played(family, sound(family, 512))
    litres = 1e3 * np.median(cycle.came)
    low, high = (68.0, 150.0) if family == "top_load" else (15.0, 50.0)
    assert low < litres < high


def test_a_leaking_valve_spills_over_the_rim() -> None:
    """Tests that water through a shut valve fills the tub and then the floor, and is counted."""
    values = putting(sound("front_load"), valve_leak=1e-4)
    cycle, found = played("front_load", values)
    assert cycle.washed.spilled[0] > 0.05
    assert cycle.came == pytest.approx(cycle.gone + cycle.left, abs=1e-9)
    assert model_of("front_load").names.conditions[found.first[0]] == "overflow"


@settings(deadline=None, max_examples=40)  # the first draw loads scipy
@given(
    family=st.sampled_from(FAMILIES),
    seed=st.integers(0, 10_000),
    leaning=st.sampled_from([1.0, 4.0, 20.0]),
)
def test_whatever_the_parameters_may_be_a_cycle_can_be_played(
    family: str, seed: int, leaning: float
) -> None:
    """Tests machines from anywhere within the limits: no formula is left outside its range."""
    machine = machine_of(family)
    share = np.random.default_rng(seed).random((len(machine.parameters), 32)) ** leaning
    drawn = machine.low[:, None] + (machine.high - machine.low)[:, None] * share
    values = dict(zip(machine.parameters, drawn, strict=True))
    cycle, _ = played(family, values)
    assert cycle.came == pytest.approx(cycle.gone + cycle.left, abs=1e-9)
    for name, quantity in QUANTITIES.items():
        if quantity.needs <= set(values):
            assert np.isfinite(quantity.formula(values)).all(), name
