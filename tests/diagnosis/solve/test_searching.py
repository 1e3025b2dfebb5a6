"""When compiled loops are worth waiting for, and how far a batch may go."""

from __future__ import annotations

import time

import pytest

from tubside.diagnosis.solve import jit
from tubside.diagnosis.solve.searching import (
    COMPILES_AFTER,
    COMPILING,
    LOADS_AFTER,
    Limits,
    Pace,
    pays,
)


def limits(seconds: float | None) -> Limits:
    """Return limits that begin now."""
    return Limits(time.perf_counter(), seconds, None)


@pytest.fixture
def numba(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """Make it look as if numba were there and had compiled nothing."""
    monkeypatch.setattr(jit, "installed", lambda: True)
    monkeypatch.setattr(jit, "compiled", lambda: False)
    return monkeypatch


@pytest.mark.usefixtures("numba")
def test_a_first_compile_needs_time_or_leave() -> None:
    """Tests that with a limit it begins only where there is time, or where it comes on top."""
    enough = COMPILES_AFTER + 0.1
    assert not pays(enough, limits(10.0), may_take_longer=False)
    assert pays(enough, limits(10.0), may_take_longer=True)
    assert pays(enough, limits(COMPILING + 10.0), may_take_longer=False)
    assert pays(enough, limits(None), may_take_longer=False)
    assert not pays(COMPILES_AFTER / 2, limits(None), may_take_longer=True)


def test_what_was_compiled_is_loaded_early(numba: pytest.MonkeyPatch) -> None:
    """Tests that half a second of search is enough then, but that loading needs time too."""
    numba.setattr(jit, "compiled", lambda: True)
    assert pays(LOADS_AFTER, limits(10.0), may_take_longer=False)
    assert not pays(LOADS_AFTER, limits(1.0), may_take_longer=False)
    assert not pays(LOADS_AFTER / 2, limits(10.0), may_take_longer=False)


def test_without_numba_nothing_is_loaded() -> None:
    """Tests that plain loops go on for as long as it takes."""
    assert not pays(1e6, limits(None), may_take_longer=True)


def test_batches_follow_the_clock() -> None:
    """Tests that quick work is allowed more and slow work less, and never nothing."""
    pace = Pace()
    for _ in range(10):
        pace.learn(took=0.001, done=pace.work, left=5.0)
    assert pace.work > 50
    pace.learn(took=10.0, done=pace.work, left=5.0)
    assert pace.work <= 10
    pace.learn(took=10.0, done=1, left=0.0)
    assert pace.work == 1
