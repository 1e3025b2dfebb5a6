"""Readings of simulated machines: as the pack expects them where the pack is right."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tubside.diagnosis.evidence import IS, NONE, OVER, Evidence, Measured
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.diagnosis.reading_density import reading_log
from tubside.service.knowledge import knowledge_of_family
from tubside.service.trials import world_of
from tubside.trial.chance import Chance
from tubside.trial.meter import Now, measure, stopped_for

KNOWN = knowledge_of_family("top_load")
MODEL = KNOWN.model
WORLD = world_of(KNOWN, "pack", 3)
CALLS = 250
READINGS = [n for n, check in enumerate(MODEL.checks) if check.reading is not None]


def with_cause(name: str | None) -> Now:
    """Return a machine with one cause, or with none, before any remedy."""
    present = np.array([name == cause for cause in MODEL.names.causes])
    return Now(present, np.zeros_like(present), shows=True, remedies_done=0)


def shown(number: int, now: Now, seed: int = 1) -> list[Measured]:
    """Return what many machines show."""
    reading, machines = MODEL.checks[number].reading, WORLD.machines
    assert reading is not None
    assert machines is not None
    return [measure(machines, reading, (number, 1), now, Chance(seed, n)) for n in range(CALLS)]


@pytest.mark.parametrize("number", READINGS, ids=[MODEL.names.checks[n] for n in READINGS])
def test_sound_machines_show_what_is_expected(number: int) -> None:
    """Tests that numbers of sound machines fall on both sides of the expected middle alike."""
    reading = MODEL.checks[number].reading
    assert reading is not None
    assert MODEL.predicting is not None
    values, _ = MODEL.predicting.values(reading.quantity, [()])
    finite = values[0][np.isfinite(values[0])]
    told = shown(number, with_cause(None))
    numbers = np.array([m.value if m.says != NONE else np.nan for m in told])
    seen = numbers[np.isfinite(numbers)]
    if not len(finite):
        assert not len(seen) or np.mean([m.says == IS for m in told]) < 0.1
        return
    middle = float(np.median(np.minimum(finite, reading.most)))
    below = float(np.mean(seen < middle)) + 0.5 * float(np.mean(seen == middle))
    assert abs(below - 0.5) < 4.0 * 0.5 / len(seen) ** 0.5 + 0.03


def test_nothing_is_shown_beyond_the_scale() -> None:
    """Tests that a number beyond the instrument's scale is told as more than its end."""
    for number in READINGS:
        reading = MODEL.checks[number].reading
        assert reading is not None
        for one in shown(number, with_cause(None))[:20]:
            assert one.says in {IS, OVER, NONE}
            assert one.says != IS or one.value < reading.most


def test_readings_move_belief_towards_the_truth() -> None:
    """Tests that on average a reading of a faulty machine speaks for its cause."""
    for check, cause in (("drain-time", "slow-drain"), ("bounce", "suspension-worn")):
        number = MODEL.names.checks.index(check)
        now = with_cause(cause)
        members = np.array([np.zeros_like(now.present), now.present])
        sets = Sets(members, np.array([0, -1]))
        rows = Rows(sets, (members,), np.zeros(2), np.arange(2))
        gain = []
        for one in shown(number, now)[:80]:
            sound, faulty = reading_log(MODEL, Evidence(readings=(one,)), rows)
            gain.append(faulty - sound)
        assert np.mean(gain) > 0.0


def test_a_cleared_cause_moves_nothing_any_more() -> None:
    """Tests that after the cause is cleared the machine reads like a sound one again."""
    number = MODEL.names.checks.index("bounce")
    there = with_cause("suspension-worn")
    gone = replace(there, present=np.zeros_like(there.present), cleared=there.present)
    middle = {
        key: float(np.median([m.value for m in shown(number, now) if m.says == IS]))
        for key, now in {"sound": with_cause(None), "there": there, "gone": gone}.items()
    }
    assert middle["there"] != pytest.approx(middle["sound"], rel=0.05)
    assert middle["gone"] == pytest.approx(middle["sound"], rel=0.15)


def test_a_shut_tap_stops_the_machine_for_want_of_water() -> None:
    """Tests that physics names the condition, and names none for a cause without physics."""
    assert WORLD.machines is not None
    now = with_cause("tap-closed")
    stops = [stopped_for(WORLD.machines, MODEL, Chance(1, n), now.present) for n in range(20)]
    water = {MODEL.names.conditions.index(c) for c in ("no_water", "fills_slowly")}
    assert any(stop in water for stop in stops)
    moved = {move.cause for move in WORLD.machines.family.moves}
    still = next(name for n, name in enumerate(MODEL.names.causes) if n not in moved)
    assert stopped_for(WORLD.machines, MODEL, Chance(1, 0), with_cause(still).present) is None
