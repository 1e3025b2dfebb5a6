"""How long the camera exposed, told by lamps that flash."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from tubside.recordings.exposure import long_exposure
from tubside.recordings.lamp_levels import levelled
from tubside.recordings.lamp_model import explanations
from tubside.recordings.lamp_series import LampSeries

FPS = 30.0


def filmed(exposure_s: float, period_s: float, lag: float = 0.0) -> LampSeries:
    """Return two lamps that flash in turn, each frame the mean of its exposure, and noise."""
    rng = np.random.default_rng(5)
    t = np.arange(240) / FPS
    fine = t[:, None] + np.linspace(0.0, exposure_s, 400)
    lit = np.array(
        [((fine + turn) % period_s < period_s / 2).mean(1) for turn in (0.0, period_s / 2)]
    )
    before = np.concatenate([lit[:, :1], lit[:, :-1]], axis=1)
    shown: NDArray[np.float64] = (1 - lag) * lit + lag * before + 0.02 * rng.normal(size=lit.shape)
    return LampSeries(("a", "b"), t, shown, np.zeros(2))


@pytest.mark.parametrize(
    ("exposure_s", "period_s", "lag", "long"),
    [
        (1 / 40, 0.61, 0.0, True),
        (1 / 32, 0.53, 0.0, True),
        (1 / 100, 0.61, 0.0, False),
        (1 / 1000, 0.61, 0.0, False),
        (1 / 1000, 0.61, 0.5, False),  # a codec holds each switch back by half
        (1 / 40, 0.8, 0.0, False),  # 24 frames: every switch is met at one phase
    ],
)
def test_a_ramp_tells_the_exposure(
    exposure_s: float, period_s: float, lag: float, *, long: bool
) -> None:
    """Tests exposures beyond and below 1/60 s, smeared switches, and a flash locked to frames."""
    clip = filmed(exposure_s, period_s, lag)
    level = levelled(clip)
    best = explanations(clip, level)[0]
    assert (long_exposure(clip, level, best) > 10.0) == long
