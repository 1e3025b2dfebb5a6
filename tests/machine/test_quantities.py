"""Tests of what can be measured at a machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pytest

from made_machines import machine_of
from tubside.machine.as_built import SAYS_OF
from tubside.machine.circuit import CONSTANTS
from tubside.machine.draws import Values, base_draws, values_with
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Floats

EACH = [
    (family, name)
    for family in ("top_load", "front_load", "dryer")
    for name, quantity in QUANTITIES.items()
    if quantity.needs <= set(machine_of(family).parameters)
]
"""What can be measured at the machine of a family: it washes or it dries."""


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


@pytest.mark.parametrize(("family", "name"), EACH)
def test_a_quantity_names_what_it_hangs_on(family: str, name: str) -> None:
    """Tests that a formula asks for the parameters it needs and no other, siphon or none."""
    machine, asked = machine_of(family), set[str]()
    for siphon in (0.0, 1.0):
        values = values_with(machine, base_draws(machine, 8), ())
        watched = Watched({**values, "siphon": np.full(8, siphon)})
        QUANTITIES[name].formula(watched)  # type: ignore[arg-type]  # reads like a dict
        asked |= watched.asked
    assert asked - CONSTANTS == QUANTITIES[name].needs
    own = {constant for constant, says in SAYS_OF.items() if name in says}
    assert asked & CONSTANTS - {"rated_voltage"} == own
    assert "rated_voltage" not in asked or "mains_voltage" in asked


@pytest.mark.parametrize(("family", "name"), EACH)
def test_a_quantity_is_a_finite_number_a_machine(family: str, name: str) -> None:
    """Tests that every reading of sound machines is finite and not negative, one a machine."""
    machine = machine_of(family)
    values = values_with(machine, base_draws(machine, 256), ())
    found = QUANTITIES[name].formula(values)
    assert found.shape == (256,)
    assert np.isfinite(found).all()
    assert (found >= 0.0).all() or name == "heater_rise_rate"  # without a heater it cools


@pytest.mark.parametrize(("family", "name"), EACH)
def test_a_machine_reads_the_same_in_any_company(family: str, name: str) -> None:
    """Tests that a machine's reading does not hang on which others are reckoned with it."""
    machine = machine_of(family)
    values = values_with(machine, base_draws(machine, 64), ())
    alone = {key: value[7:8] for key, value in values.items()}
    formula = QUANTITIES[name].formula
    assert formula(alone)[0] == pytest.approx(formula(values)[7], rel=1e-12)
