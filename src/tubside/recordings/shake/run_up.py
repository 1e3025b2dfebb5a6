r"""A spin that speeds up: speed from the line of the unbalance, resonance from its size.

The line of one turn (the first order) is followed through a short-time spectrum by the path
of the greatest sum (Viterbi, IEEE Trans. Inf. Theory 13(2), 1967, 260-269), the log is turned
back by that phase, and the size of what stands still is held against

.. math:: \ddot x + 2 \zeta \omega \dot x + \omega^2 x = K \Omega(t)^2 e^{i \varphi(t)}

stepped with the same run-up, so that a fast passage through resonance does not shift it.
"""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
RATE_HZ = 100.0
WINDOW_S, HOP_S = 1.28, 0.1
LOWEST_HZ, HIGHEST_HZ = 0.8, 28.0
LEAST_S, LEAST_RISE = 4.0, 1.8
JUMP = 0.35
"""Price of one bin a hop, in shares of the log power's spread."""
STANDS_OUT = (14.0, 6.0)
"""The line holds this many times the middle power of the spectrum: of one axis, of three.
Noise alone passes it in fewer than one piece of ten."""
GRADUAL, LASTS = 0.3, 0.002
"""A run-up spends this share of its time between the ends of its speed, and shakes on at the
top with this share of its greatest power: a swing that dies away does neither."""
TOLD_EVERY_S = 0.5


class RunUp(msgspec.Struct, frozen=True):
    """Speed at the end [rpm], resonance [Hz], damping ratio, and how much is the first order.

    ``speed`` holds pairs of time [s] and speed [rpm]; ``first_order`` is the share of the
    first in the first two orders' power. Resonance is null where none was passed.
    """

    end_rpm: float
    speed: list[tuple[float, float]]
    first_order: float
    resonance_hz: float | None = None
    damping_ratio: float | None = None


def run_up(times_s: Array, axes: Array) -> RunUp | None:
    """The run-up in a log, accelerations (n, axes) without NaN; None where no line rises."""
    even = np.arange(0.0, times_s[-1], 1.0 / RATE_HZ)
    if even[-1] < LEAST_S + WINDOW_S:
        return None
    axes = np.stack([_held(np.interp(even, times_s, column)) for column in axes.T], axis=1)
    top = min(HIGHEST_HZ, 0.42 / float(np.median(np.diff(times_s))))
    ridge = _ridge(axes, top)
    if ridge is None:
        return None
    middle, hertz = ridge
    line = _smooth(hertz)
    slope = float(np.polyfit(middle[:10], line[:10], 1)[0])
    before = np.minimum(even - middle[0], 0.0) * max(slope, 0.0)
    speed = np.maximum(np.interp(even, middle, line) + before, 0.1)
    speed, first = _turned_back(axes, speed)
    second = _size(axes, 2.0 * np.pi * np.cumsum(2.0 * speed) / RATE_HZ)
    power = np.square(first).sum(), np.square(second).sum()
    resonance, ratio = _resonance(speed, first, even >= middle[0])
    told = np.arange(middle[0], middle[-1], TOLD_EVERY_S)
    return RunUp(
        end_rpm=60.0 * float(np.median(speed[-int(RATE_HZ) :])),
        speed=[(round(float(t), 2), 60.0 * float(np.interp(t, even, speed))) for t in told],
        first_order=float(power[0] / max(power[0] + power[1], 1e-300)),
        resonance_hz=resonance,
        damping_ratio=ratio,
    )


def _held(values: Array) -> Array:
    """Without what is slower than a second: the earth's pull, and how it tilts."""
    width = round(1.5 * RATE_HZ)
    padded = np.pad(values, (width // 2, width - width // 2 - 1), mode="edge")
    return np.asarray(values - np.convolve(padded, np.ones(width) / width, "valid"))


def _ridge(axes: Array, top: float) -> tuple[Array, Array] | None:
    """Middle of each piece [s] and the frequency of the line in it [Hz]."""
    size, hop = round(WINDOW_S * RATE_HZ), round(HOP_S * RATE_HZ)
    starts = np.arange(0, len(axes) - size, hop)
    taper = np.hanning(size)[:, None]
    pieces = np.stack([(axes[s : s + size] - axes[s : s + size].mean(0)) * taper for s in starts])
    hertz: Array = np.fft.rfftfreq(4 * size, 1.0 / RATE_HZ).astype(np.float64)
    power = np.square(np.abs(np.fft.rfft(pieces, 4 * size, axis=1))).sum(axis=2)
    kept = (hertz >= LOWEST_HZ) & (hertz <= top)
    hertz, power = hertz[kept], power[:, kept]
    path = _best_path(np.log(power + 1e-12 * power.max()))
    line = hertz[path]
    strong = power[np.arange(len(path)), path] > (
        STANDS_OUT[axes.shape[1] > 1] * np.median(power, axis=1)
    )
    lasting = np.convolve(strong, np.ones(10) / 10, "full")[9:]
    first = int(np.argmax((lasting >= 0.9) & strong))
    rise = line[first:]
    if len(rise) * HOP_S < LEAST_S or strong[first:].mean() < 0.8:
        return None
    begins, ends = float(np.median(rise[:8])), float(np.median(rise[-8:]))
    steady = (np.diff(_smooth(rise)) > -0.02).mean()
    if ends < LEAST_RISE * begins or steady < 0.8 or ends - begins < 1.5:
        return None
    share = (rise - begins) / (ends - begins)
    between = float(((share > 0.2) & (share < 0.8)).mean())
    held = power[np.arange(len(path)), path][first:]
    if between < GRADUAL or float(np.median(held[-8:])) < LASTS * float(held.max()):
        return None
    middle: Array = np.asarray((starts[first:] + 0.5 * size) / RATE_HZ, dtype=np.float64)
    return middle, rise


def _best_path(score: Array) -> NDArray[np.int64]:
    """The path of the greatest sum through (pieces, bins), a jump of bins costing."""
    price = JUMP * float(score.std())
    reach = 12
    total, back = score[0], np.zeros(score.shape, dtype=np.int64)
    offsets = np.arange(-reach, reach + 1)
    for n in range(1, len(score)):
        padded = np.pad(total, reach, constant_values=-np.inf)
        near = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
        choice = near - price * np.abs(offsets)[None, :]
        best = choice.argmax(axis=1)
        back[n] = np.arange(len(total)) + offsets[best]
        total = choice[np.arange(len(total)), best] + score[n]
    path = np.empty(len(score), dtype=np.int64)
    path[-1] = int(total.argmax())
    for n in range(len(score) - 1, 0, -1):
        path[n - 1] = back[n, path[n]]
    return path


def _smooth(values: Array) -> Array:
    width = min(9, len(values) // 2 * 2 - 1)
    padded = np.pad(values, width // 2, mode="reflect", reflect_type="odd")
    return np.asarray(np.convolve(padded, np.ones(width) / width, "valid"))


def _turned_back(axes: Array, speed: Array) -> tuple[Array, Array]:
    """Speed mended by the phase that is left [Hz], and the size of the first order."""
    angle = 2.0 * np.pi * np.cumsum(speed) / RATE_HZ
    still = _standing(axes, angle)
    weight = np.square(np.abs(still)).sum(axis=1)
    turn = (still[1:] * still[:-1].conj()).sum(axis=1)
    slow = np.convolve(turn, np.ones(100) / 100, "same")
    drift = np.angle(slow) * RATE_HZ / (2.0 * np.pi)
    usable = weight[1:] > 0.01 * weight.max()
    mended = speed.copy()
    mended[1:] += np.where(usable, np.clip(drift, -0.2, 0.2), 0.0)
    return mended, np.sqrt(weight)


def _standing(axes: Array, angle: Array) -> Array:
    """What stands still when the log is turned back by an angle: complex (n, axes)."""
    width = round(0.8 * RATE_HZ)
    taper = np.hanning(width) / np.hanning(width).sum()
    turned = axes * np.exp(-1j * angle)[:, None]
    return np.stack([np.convolve(column, taper, "same") for column in turned.T], axis=1) * 2.0


def _size(axes: Array, angle: Array) -> Array:
    return np.asarray(np.sqrt(np.square(np.abs(_standing(axes, angle))).sum(axis=1)))


def _resonance(
    speed: Array, size: Array, followed: NDArray[np.bool_]
) -> tuple[float | None, float | None]:
    """Natural frequency [Hz] and damping ratio of the size over the run-up."""
    from scipy.optimize import least_squares  # noqa: PLC0415  # only recordings need it

    angle = 2.0 * np.pi * np.cumsum(speed) / RATE_HZ
    inside = followed.copy()
    inside[-round(0.5 * RATE_HZ) :] = False
    known = size[inside] / size.max()

    def left(logs: Array) -> Array:
        made = _made(speed, angle, logs)[inside]
        made = made * float(made @ known) / max(float(made @ made), 1e-300)
        return np.asarray(made - known)

    # well above a low resonance the unbalance shakes more than it did in it: look for the
    # height of what it shakes for its own pull, too
    pulled = speed[inside][int(np.argmax(size[inside] / np.square(speed[inside])))]
    tops = (0.8 * speed[int(np.argmax(size))], speed[int(np.argmax(size))], pulled)
    starts = [np.log([hertz, zeta]) for hertz in tops for zeta in (0.05, 0.15)]
    best = min(
        (least_squares(left, start, max_nfev=25, diff_step=1e-3) for start in starts),
        key=lambda one: one.cost,
    )
    hertz, ratio = (float(x) for x in np.exp(best.x))
    passed = speed[inside].min() * 1.1 < hertz < speed.max() * 0.95 and 0.005 < ratio < 0.7
    return (hertz, ratio) if passed else (None, None)


def _made(speed: Array, angle: Array, logs: Array) -> Array:
    """Size of the first order of a tub with these parameters, seen as the log's own is."""
    from scipy.signal import lfilter  # noqa: PLC0415  # only recordings need it

    hertz, ratio = np.exp(np.clip(logs, -6.0, 5.0))
    omega, step = 2.0 * np.pi * min(hertz, 0.45 * RATE_HZ), 1.0 / RATE_HZ
    # the bilinear rule with its frequency bent so that the resonance stays where it is
    k = omega / np.tan(0.5 * omega * step)
    squares = (omega * omega, 2.0 * ratio * omega * k, k * k)
    below = [sum(squares), 2.0 * (squares[0] - squares[2]), squares[0] - squares[1] + squares[2]]
    force = np.square(speed) * np.exp(1j * angle)
    moved = lfilter([k * k, -2.0 * k * k, k * k], below, force)
    return np.abs(_standing(moved[:, None], angle)[:, 0])
