"""Whether a log rests around a swing: a tub does, an arm or a pocket that goes on does not.

One push of a tub begins from rest and ends at rest, and the phone lies as it lay. A swing of
something that is carried about may fit a damped cosine as well for a second or two; what
tells it apart stands before and after: the same movement again. So the movement that is left
once the swing is over is measured, and must be no more than what is not counted as a bounce
any longer, a tenth of the first, over the noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.shake.damped import columns, envelope
from tubside.recordings.shake.ring_down import SEEN, Ring

Array = NDArray[np.float64]
LOOKS_S = 2.0
"""So long after the swing the log is looked at; later somebody may pick the phone up."""
LEAST_S, LONG_S = 0.5, 1.5
"""Less than this of the log says nothing of rest; this much is rest without another."""
BEFORE_S, PIECE_S = 4.0, 0.6
"""A rest of one piece is looked for within this time before the height of the push."""
LEAST_SAMPLES = 9
SURE = 3.0
"""Standard deviations of the noise's own variance that are not taken for movement."""
CERTAIN = 0.2
"""Standard deviation of the log of the damping rate, at most, where a log ends before the rest."""
TURNED = 2.0
"""Change of the earth's pull [m/s²], 12 degrees: a phone on a tub lies as it lay."""


@dataclass(frozen=True, slots=True)
class Rest:
    """Movement around a swing, as a share of its first amplitude; None where the log has none.

    ``after`` once the swing is over, ``looked_s`` for how long; ``before`` in the calmest
    piece of the seconds before the push. ``turned`` is how far the earth's pull has changed
    from the swing to the rests [m/s²], ``doubt`` that of :class:`Ring`.
    """

    after: float | None
    looked_s: float
    before: float | None
    turned: float
    doubt: float

    @property
    def proven(self) -> bool:
        """Whether it may be a swing between two rests.

        There must be rest on both sides. Where the log begins with the swing, a longer rest
        after it speaks for both, and where it ends too early, a sure fit beside the rest before.
        """
        sides = [side for side in (self.before, self.after) if side is not None]
        if not sides or max(sides) > SEEN or self.turned > TURNED:
            return False
        if self.after is None:
            return self.doubt <= CERTAIN
        return self.before is not None or self.looked_s >= LONG_S

    @property
    def whole(self) -> bool:
        """Whether the log shows both rests."""
        return self.before is not None and self.after is not None


def rest_around(times_s: Array, axes: Array, ring: Ring) -> Rest:
    """How the log rests around a ring-down; accelerations (n, axes), NaN where clipped."""
    end = ring.start_s + _lasts(ring)
    until = min(end + LOOKS_S, float(times_s[-1]))
    omega, _, _ = ring.model.rates(ring.main)
    least = max(LEAST_S, 1.5 * np.pi / omega)
    after = _piece(times_s, axes, end, until) if until - end >= least else None
    first = max(ring.start_s - BEFORE_S, 0.0)
    long = max(PIECE_S, LEAST_SAMPLES * float(np.median(np.diff(times_s))))
    starts = np.arange(first, ring.start_s - long + 1e-9, 0.1 * PIECE_S)
    pieces = [_piece(times_s, axes, start, start + long) for start in starts]
    calm = min((one for one in pieces if one), key=lambda one: one.variance, default=None)
    lies = _lies(ring)
    turned = [_turned(one, lies, ring) for one in (after, calm) if one]
    return Rest(
        None if after is None else _share(after, ring),
        until - end,
        None if calm is None else _share(calm, ring),
        max(turned, default=0.0),
        ring.doubt,
    )


@dataclass(frozen=True, slots=True)
class _Piece:
    """Variance of one axis about a bend [(m/s²)²], its degrees of freedom, samples, the mean."""

    variance: float
    spare: int
    samples: int
    pull: Array


def _piece(times_s: Array, axes: Array, start: float, end: float) -> _Piece | None:
    inside = (times_s >= start) & (times_s < end) & np.isfinite(axes).all(axis=1)
    values = axes[inside]
    if len(values) < LEAST_SAMPLES:
        return None
    along = np.linspace(-1.0, 1.0, len(values))
    basis = np.stack([np.ones(len(values)), along, np.square(along)], axis=1)
    linear, *_ = np.linalg.lstsq(basis, values, rcond=None)
    spare = values.size - 3 * values.shape[1]
    variance = float(np.square(values - basis @ linear).sum()) / spare
    return _Piece(variance, spare, len(values), values.mean(axis=0))


def _turned(piece: _Piece, lies: Array, ring: Ring) -> float:
    """Change of the earth's pull beyond what noise makes of two means [m/s²], at least 0."""
    shares = 1.0 / piece.samples + 1.0 / len(ring.window.times_s)
    noise = SURE * ring.noise * np.sqrt(len(lies) * shares)
    return float(max(np.linalg.norm(piece.pull - lies) - noise, 0.0))


def _share(piece: _Piece, ring: Ring) -> float:
    """Amplitude of what moves beyond the noise over that of the swing, at least 0."""
    noise = ring.noise**2 * (1.0 + SURE * np.sqrt(2.0 / piece.spare))
    moves = max(piece.variance - noise, 0.0) * ring.window.values.shape[1]
    return float(np.sqrt(2.0 * moves) / np.linalg.norm(ring.model.amplitude))


def _lasts(ring: Ring) -> float:
    """Time [s] from the start of the fit until all its swings are below a tenth."""
    sizes = ring.model.amplitude
    rates = [ring.model.rates(mode) for mode in range(ring.model.modes)]
    times = np.linspace(0.0, max(np.log(1.0 / SEEN) / sigma for _, sigma, _ in rates), 400)
    parts = [n * envelope(times, s, k) for n, (_, s, k) in zip(sizes, rates, strict=True)]
    seen = np.sum(np.square(parts), axis=0) > np.square(SEEN) * np.square(sizes).sum()
    return float(times[int(np.flatnonzero(seen)[-1])])


def _lies(ring: Ring) -> Array:
    """The fitted offset of each axis: the earth's pull while it swings [m/s²]."""
    basis = columns(ring.window.times_s, ring.model.logs, friction=ring.model.friction)
    linear, *_ = np.linalg.lstsq(basis, ring.window.values, rcond=None)
    return np.asarray(linear[-2])
