"""The words for a lamp mean one light each."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.panel.lights import FLASHING, MOST_BLINKS, OFF, STEADY, Light, blinks, light_of

LIGHTS = [OFF, STEADY, FLASHING, *(blinks(n) for n in range(1, MOST_BLINKS + 1))]


@pytest.mark.parametrize("light", LIGHTS, ids=str)
def test_words_and_back(light: Light) -> None:
    """Tests that a light written out is read as the same light, however it is spaced."""
    assert light_of(str(light)) == light
    assert light_of(f"  {str(light).upper().replace(' ', '   ')} ") == light


@pytest.mark.parametrize("words", ["", "on", "blinks", "0 blinks", "13 blinks", "3", "-3 blinks"])
def test_other_words_name_no_light(words: str) -> None:
    """Tests that words near to a light's are not guessed at."""
    assert light_of(words) is None


@given(st.text())
def test_any_text_is_read_or_refused(words: str) -> None:
    """Tests that no text breaks the reader, and that what it accepts is in the list."""
    assert light_of(words) in [None, *LIGHTS]
