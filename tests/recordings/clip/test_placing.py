"""Lamps not tapped are placed from the panel's drawing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.pack.home import pack_folder
from tubside.panel.straightening import mapped
from tubside.recordings.clip.placing import Drawn, drawn_lamps, placed

RING = {str(k): Drawn(100 + 40 * np.cos(k), 90 + 40 * np.sin(k), 17.0) for k in range(1, 7)}


def seen(matrix: NDArray[np.float64]) -> dict[str, tuple[float, float]]:
    """Return all lamps of the ring as a camera sees them."""
    xy = mapped(matrix, np.array([(lamp.x, lamp.y) for lamp in RING.values()]))
    return {name: (float(x), float(y)) for name, (x, y) in zip(RING, xy, strict=True)}


@given(
    turn=st.floats(-3.1, 3.1),
    size=st.floats(0.5, 20.0),
    shift=st.floats(-500.0, 500.0),
    tapped=st.sets(st.sampled_from(sorted(RING)), min_size=3, max_size=5),
)
def test_three_taps_place_the_rest(
    turn: float, size: float, shift: float, tapped: set[str]
) -> None:
    """Tests that a turned, zoomed and shifted drawing is found again exactly."""
    c, s = size * np.cos(turn), size * np.sin(turn)
    there = seen(np.array([[c, -s, shift], [s, c, 2 * shift], [0, 0, 1]]))
    found = placed({name: there[name] for name in tapped}, RING)
    assert found.xy == pytest.approx(np.array([there[name] for name in found.names]), abs=1e-6)
    assert found.radius is not None
    assert found.radius == pytest.approx(np.full(6, 8.5 * size))


def test_a_lean_is_found_from_four_taps() -> None:
    """Tests that a panel seen from the side is placed by an affine map."""
    there = seen(np.array([[6.0, 0.8, 30.0], [0.2, 4.0, 50.0], [0.0, 0.0, 1.0]]))
    found = placed({name: there[name] for name in "1235"}, RING)
    assert found.xy == pytest.approx(np.array(list(there.values())), abs=1e-6)


def test_a_tap_beside_its_lamp_moves_others_little() -> None:
    """Tests that taps a pixel beside leave the rest within three pixels."""
    there = seen(np.array([[3.0, 0.0, 10.0], [0.0, 3.0, 20.0], [0.0, 0.0, 1.0]]))
    rng = np.random.default_rng(3)
    off = rng.normal(0.0, 0.8, (4, 2))
    taps = {
        n: (there[n][0] + dx, there[n][1] + dy) for n, (dx, dy) in zip("1346", off, strict=True)
    }
    found = placed(taps, RING)
    assert np.linalg.norm(found.xy - np.array(list(there.values())), axis=1).max() < 3.0


def test_swapped_labels_do_not_fit() -> None:
    """Tests that two taps with each other's names are refused."""
    there = seen(np.eye(3))
    with pytest.raises(RecordingError, match="do not fit"):
        placed({"1": there["4"], "4": there["1"], "2": there["2"], "6": there["6"]}, RING)


def test_too_few_or_strange_taps_are_told() -> None:
    """Tests that two taps, and a lamp the panel lacks, are refused."""
    there = seen(np.eye(3))
    with pytest.raises(RecordingError, match="three or more"):
        placed({name: there[name] for name in "12"}, RING)
    with pytest.raises(RecordingError, match="no lamp 'x'"):
        placed({"x": (1.0, 2.0)}, RING)
    with pytest.raises(RecordingError, match="one place"):
        placed({"a": (1.0, 2.0), "b": (1.2, 2.0)})


def test_a_model_of_the_pack_gives_its_lamps() -> None:
    """Tests that the file of a model is read for its lamps."""
    path: Path = pack_folder("front_load") / "models" / "brackwater-wren.yaml"
    assert list(drawn_lamps(path)) == list("123456")
