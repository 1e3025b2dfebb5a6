"""The brightness of each lamp over the frames of one clip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError

Array = NDArray[np.float64]
FEWEST_FRAMES = 20
STEADY_CLOCK_S = 1.5e-4


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
    row_times_s : Array, optional
        The same for each frame, shape (lamps, frames), where the hand moved the lamps to
        other rows; NaN counts as ``row_s``.

    Raises
    ------
    RecordingError
        Too few frames, times that do not rise, or shapes that do not fit.
    """

    names: tuple[str, ...]
    times_s: Array
    brightness: Array
    row_s: Array
    row_times_s: Array | None = None

    def __post_init__(self) -> None:
        """Refuse series that cannot be read."""
        if len(self.times_s) < FEWEST_FRAMES:
            msg = f"the clip has {len(self.times_s)} frames; film for about ten seconds"
            raise RecordingError(msg)
        if not (np.diff(self.times_s) > 0).all():
            msg = "the clip's frame times do not rise; film again, or send the original file"
            raise RecordingError(msg)
        shape = (len(self.names), len(self.times_s))
        if self.brightness.shape != shape:
            msg = f"brightness of shape {self.brightness.shape} does not fit lamps and frames"
            raise RecordingError(msg)
        if self.row_times_s is not None and self.row_times_s.shape != shape:
            msg = f"row times of shape {self.row_times_s.shape} do not fit lamps and frames"
            raise RecordingError(msg)

    @property
    def length_s(self) -> float:
        """Time from the first frame to the last."""
        return float(self.times_s[-1] - self.times_s[0])

    @property
    def rate_hz(self) -> float:
        """Frames per second, dropped ones left out of account."""
        return float(1.0 / np.median(np.diff(self.times_s)))

    @property
    def read_s(self) -> Array:
        """When each lamp was read in each frame, shape (lamps, frames)."""
        rows = np.broadcast_to(self.row_s[:, None], self.brightness.shape)
        if self.row_times_s is not None:
            rows = np.where(np.isfinite(self.row_times_s), self.row_times_s, rows)
        return np.asarray(self.times_s + rows)

    @property
    def uneven(self) -> bool:
        """Whether lamps are read off the even clock of the frames, so that aliases differ.

        Dropped frames leave the clock even; a variable rate or a moving hand does not.
        """
        turns = np.cumsum(np.round(np.diff(self.times_s) * self.rate_hz))
        turns = np.concatenate([[0.0], turns])
        off = self.read_s - np.median(self.read_s - self.times_s, axis=1)[:, None]
        away = off - np.polyval(np.polyfit(turns, self.times_s, 1), turns)
        return bool(np.median(np.abs(away)) > STEADY_CLOCK_S)
