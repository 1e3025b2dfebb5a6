"""Tests of what can be measured at a machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pytest

from tubside.machine.as_built import SAYS_OF
from tubside.machine.circuit import CONSTANTS
from tubside.machine.draws import Values, base_draws, values_with
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Floats, Machine


class Watched(Mapping[str, Floats]):
    """Values that note which of them were asked for."""

    def __init__(self, values: Values) -> None:
        self.values_of, self.asked = values, set[str]()

    def __getitem__(self, name: str) -> Floats:
        self.asked.add(name)
        return self.values_of[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.values_of)

    def __len__(self) -> int:
        return len(self.values_of)


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_quantity_names_what_it_hangs_on(name: str, machine: Machine) -> None:
    """Tests that a formula asks for the parameters it needs and no other, siphon or none."""
    asked = set[str]()
    for siphon in (0.0, 1.0):
        values = values_with(machine, base_draws(machine, 8), ())
        watched = Watched({**values, "siphon": np.full(8, siphon)})
        QUANTITIES[name].formula(watched)  # type: ignore[arg-type]  # reads like a dict
        asked |= watched.asked
    assert asked - CONSTANTS == QUANTITIES[name].needs
    own = {constant for constant, says in SAYS_OF.items() if name in says}
    assert asked & CONSTANTS - {"rated_voltage"} == own
    assert "rated_voltage" not in asked or "mains_voltage" in asked


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_quantity_is_a_finite_number_a_machine(name: str, machine: Machine) -> None:
    """Tests that every reading of sound machines is finite and not negative, one a machine."""
    values = values_with(machine, base_draws(machine, 256), ())
    found = QUANTITIES[name].formula(values)
    assert found.shape == (256,)
    assert np.isfinite(found).all()
    assert (found >= 0.0).all() or name == "heater_rise_rate"  # without a heater it cools


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_machine_reads_the_same_in_any_company(name: str, machine: Machine) -> None:
    """Tests that a machine's reading does not hang on which others are reckoned with it."""
    values = values_with(machine, base_draws(machine, 64), ())
    alone = {key: value[7:8] for key, value in values.items()}
    formula = QUANTITIES[name].formula
    assert formula(alone)[0] == pytest.approx(formula(values)[7], rel=1e-12)
