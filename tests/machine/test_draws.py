"""Tests of machines drawn from a family's spread."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tubside.machine.draws import base_draws, middle_draw, values_with, values_with_sets
from tubside.pack.fault_model import PLUS, TIMES, TO, Machine, Move


def moving(machine: Machine, *moves: Move) -> Machine:
    """The machine with these moves in place of its own."""
    return replace(machine, moves=moves)


def at(machine: Machine, name: str) -> int:
    """Index of a parameter."""
    return machine.parameters.index(name)


def test_same_seed_same_machines(machine: Machine) -> None:
    """Tests that a seed gives the same machines again, and another gives others."""
    first, again, other = (base_draws(machine, 100, seed) for seed in (3, 3, 4))
    assert np.array_equal(first.base, again.base)
    assert np.array_equal(first.moves, again.moves)
    assert not np.array_equal(first.base, other.base)


def test_draws_keep_to_the_limits(machine: Machine) -> None:
    """Tests that nothing is drawn outside what can be, and that counts need be no power of 2."""
    draws = base_draws(machine, 777)
    assert draws.count == 777
    assert (draws.base >= machine.low[:, None]).all()
    assert (draws.base <= machine.high[:, None]).all()


def test_draws_follow_middle_and_spread(top_load: Machine) -> None:
    """Tests the median and the quartiles of a log-normal and of a normal parameter."""
    values = values_with(top_load, base_draws(top_load, 4096), ())
    pressure, cold = values["cold_pressure"], values["cold_temperature"]
    low, middle, high = np.quantile(pressure, [0.25, 0.5, 0.75])
    assert middle == pytest.approx(350e3, rel=0.01)
    # quartiles of a normal lie 0.6745 standard deviations from its middle
    assert high / middle == pytest.approx(np.exp(0.6745 * 0.35), rel=0.01)
    assert low / middle == pytest.approx(np.exp(-0.6745 * 0.35), rel=0.01)
    assert np.std(cold) == pytest.approx(4.0, rel=0.02)


def test_the_middle_machine_has_every_middle(machine: Machine) -> None:
    """Tests that the middle machine is what the pack says."""
    assert middle_draw(machine).base[:, 0] == pytest.approx(machine.middle)


def test_moves_multiply_add_and_set_in_order(top_load: Machine) -> None:
    """Tests the three ways of a move, done in the order of the pack and clipped each time."""
    lift = at(top_load, "drain_lift")
    moved = moving(
        top_load,
        Move(0, lift, PLUS, 9.0, 0.0),  # clipped to the most that can be, 5 m
        Move(0, lift, TIMES, 0.5, 0.0),
        Move(1, lift, TO, 0.25, 0.0),
    )
    draws = base_draws(moved, 16)
    assert values_with(moved, draws, [0])["drain_lift"] == pytest.approx(2.5)
    assert values_with(moved, draws, [0, 1])["drain_lift"] == pytest.approx(0.25)
    untouched = values_with(moved, draws, [])["drain_lift"]
    assert untouched == pytest.approx(base_draws(moved, 16).base[lift])


def test_a_move_spreads(top_load: Machine) -> None:
    """Tests that the factor of a move is log-normal about its median."""
    moved = moving(top_load, Move(0, at(top_load, "pump_strength"), TIMES, 0.1, 0.5))
    draws = base_draws(moved, 4096)
    factor = (
        values_with(moved, draws, [0])["pump_strength"] / draws.base[at(top_load, "pump_strength")]
    )
    assert np.median(factor) == pytest.approx(0.1, rel=0.02)
    assert np.std(np.log(factor)) == pytest.approx(0.5, rel=0.02)


def test_a_move_in_a_share_of_the_machines(top_load: Machine) -> None:
    """Tests that a move with a share is made in that share, and always in the middle one."""
    moved = moving(top_load, Move(0, at(top_load, "siphon"), TO, 1.0, 0.0, 0.3))
    values = values_with(moved, base_draws(moved, 4096), [0])
    assert np.mean(values["siphon"]) == pytest.approx(0.3, abs=0.01)
    assert values_with(moved, middle_draw(moved), [0])["siphon"] == 1.0


def test_each_machine_may_have_its_own_causes(top_load: Machine) -> None:
    """Tests that sets by machine agree with one set for all, machine by machine."""
    draws = base_draws(top_load, 32)
    causes = sorted({move.cause for move in top_load.moves})[:3]
    count = max(move.cause for move in top_load.moves) + 1
    present = np.zeros((count, 32), dtype=bool)
    present[causes[0], ::2] = True
    present[causes[1], ::3] = True
    mixed = values_with_sets(top_load, draws, present)
    for machine in (0, 1, 2, 3):
        own = [cause for cause in causes if present[cause, machine]]
        alone = values_with(top_load, draws, own)
        for name, values in mixed.items():
            assert values[machine] == alone[name][machine], name
