"""What a job file says of the panel becomes typed values or a clear error."""

from __future__ import annotations

import pytest

from tubside.errors import JobFileError, PanelError, Problem
from tubside.panel.lights import OFF, STEADY, blinks
from tubside.panel.matching import Seen
from tubside.panel.schema import Panel
from tubside.panel.telling import parse_seen
from tubside.strict_yaml import Path


def tell(path: Path, what: str, mend: str) -> Problem:
    """Place every problem on a line of its own section."""
    return Problem("job.yaml", 9 if path == ("sound",) else 3, what, mend)


def test_words_become_lights(small: Panel) -> None:
    """Tests ids, labels, counts, the sound, and that "not sure" is left out."""
    assert parse_seen(small, {"a": "3 blinks", "RIGHT": "Off"}, "Pulses", tell) == Seen(
        {"a": blinks(3), "b": OFF}, "pulses"
    )
    assert parse_seen(small, {"a": "not sure", "b": "steady"}, "not sure", tell) == Seen(
        {"b": STEADY}, None
    )
    assert parse_seen(small, {}, None, tell) == Seen()


def test_every_fault_is_told_with_what_is_known(small: Panel) -> None:
    """Tests that unknown lamps, states and sounds name what there is to choose from."""
    with pytest.raises(JobFileError) as caught:
        parse_seen(small, {"c": "steady", "a": "on", "left": "off"}, "song", tell)
    lamp, state, sound = caught.value.problems
    assert str(lamp) == "job.yaml:3: the Small Panel has no lamp 'c'; its lamps are a, b"
    assert "'on'" in state.what
    assert "off, steady, flashing, 1 to 12 blinks" in state.mend
    assert "not sure" in state.mend
    assert sound.line == 9
    assert "none, notes, pulses, steady tone or not sure" in sound.mend


def test_a_lamp_told_twice(small: Panel) -> None:
    """Tests that a lamp told by its id and again by its label is refused."""
    with pytest.raises(PanelError, match="lamp 'left' is told twice"):
        parse_seen(small, {"a": "off", "left": "steady"}, None, tell, PanelError)


def test_a_count_where_nothing_counts(wren: Panel) -> None:
    """Tests that a count on a panel without counts says what to write instead."""
    with pytest.raises(JobFileError, match="flashing or not sure: this model counts no blinks"):
        parse_seen(wren, {"1": "3 blinks"}, None, tell)
