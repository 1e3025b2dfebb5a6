"""How surprised to be by a reading."""

from __future__ import annotations

import numpy as np
import pytest

from made_models import every_set
from made_readings import reading_check, with_readings
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import IS, OVER, UNDER, Evidence, Measured
from tubside.diagnosis.facts import Fact
from tubside.diagnosis.surprise import tail
from tubside.diagnosis.why import weigh
from tubside.pack.fault_model import FaultModel

SETS = every_set(5)


def first(model: FaultModel) -> int:
    """Index of the first reading check."""
    return next(n for n, check in enumerate(model.checks) if check.reading is not None)


def surprise(model: FaultModel, value: float, says: int = IS) -> float:
    """Share of readings less expected, nothing known before."""
    belief = believe_sets(model, Evidence(), SETS)
    return tail(model, Evidence(), belief, Measured(first(model), value, says, 1))


def test_a_normal_tail_is_the_two_sided_one() -> None:
    """Tests numbers of sound machines alone: 1.96 standard deviations off is one in twenty."""
    model = with_readings((reading_check("lift", plain=0.5),), moves=())
    off = 1.96 * np.hypot(0.5, 0.5)
    assert surprise(model, 5.0) > 0.9
    assert surprise(model, 5.0 + off) == pytest.approx(0.05, abs=0.035)
    assert surprise(model, 5.0 - 2.2 * off) < 0.02


def test_a_number_between_two_humps_is_surprising() -> None:
    """Tests that what fits neither sound nor broken machines is told as odd."""
    from tubside.pack.fault_model import TO, Move  # noqa: PLC0415  # this test alone

    moves = tuple(Move(cause, 2, TO, 1.0, 0.05) for cause in range(5))
    model = with_readings((reading_check("lift", plain=0.05),), moves=moves)
    between, broken = surprise(model, 2.3), surprise(model, 1.0)
    assert between < 0.03 < broken


def test_limits_are_as_surprising_as_they_are_unlikely() -> None:
    """Tests over and under: their chances sum to one."""
    model = with_readings((reading_check("lift", plain=0.2),), moves=())
    over, under = surprise(model, 5.3, OVER), surprise(model, 5.3, UNDER)
    assert over + under == pytest.approx(1.0)
    assert over < under


def test_each_reading_is_told_with_its_surprise() -> None:
    """Tests that facts are weighed with the tail, and the chances before and after."""
    model = with_readings((reading_check("pressure", plain=0.5),))
    facts = [Fact("a reading", Measured(first(model), 6.0, IS, 1))]
    weighed = weigh(model, facts, SETS)[0]
    assert weighed.tail == pytest.approx(surprise(model, 6.0))
    assert weighed.after[0] > weighed.before[0]
    assert weighed.weight_db[0] > 0.0
