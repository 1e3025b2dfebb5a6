"""The brightness of each lamp over the frames of one clip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError

Array = NDArray[np.float64]
FEWEST_FRAMES = 20


@dataclass(frozen=True, slots=True)
class LampSeries:
    """Lamps by frame.

    Parameters
    ----------
    names : tuple of str
        Ids of the lamps.
    times_s : Array
        True times of the frames, shape (frames,), rising.
    brightness : Array
        Lamp minus its surround in units of the panel's own brightness, shape
        (lamps, frames); NaN where glare or a lost track hides the lamp.
    row_s : Array
        How much later than the frame's first row each lamp is read, shape (lamps,).

    Raises
    ------
    RecordingError
        Too few frames, times that do not rise, or shapes that do not fit.
    """

    names: tuple[str, ...]
    times_s: Array
    brightness: Array
    row_s: Array

    def __post_init__(self) -> None:
        """Refuse series that cannot be read."""
        if len(self.times_s) < FEWEST_FRAMES:
            msg = f"the clip has {len(self.times_s)} frames; film for about ten seconds"
            raise RecordingError(msg)
        if not (np.diff(self.times_s) > 0).all():
            msg = "the clip's frame times do not rise; film again, or send the original file"
            raise RecordingError(msg)
        if self.brightness.shape != (len(self.names), len(self.times_s)):
            msg = f"brightness of shape {self.brightness.shape} does not fit lamps and frames"
            raise RecordingError(msg)

    @property
    def length_s(self) -> float:
        """Time from the first frame to the last."""
        return float(self.times_s[-1] - self.times_s[0])

    @property
    def rate_hz(self) -> float:
        """Frames per second, dropped ones left out of account."""
        return float(1.0 / np.median(np.diff(self.times_s)))
