"""Logs of a tub that is pushed and let go, or run up, by stepping its motion in time.

Apart from the reader: no formula of a damped cosine, no constant of the reader's. A mass on
a spring with viscous damping and dry friction is stepped by 0.5 ms (leapfrog); a phone of
any attitude lies on it and samples at its own unsteady times.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEP_S = 0.5e-3


@dataclass(frozen=True, slots=True)
class Tub:
    """One swing: frequency, damping ratio, dry friction as a share of the spring's pull.

    ``runs_up`` is the time in which it is spun up in place of being pushed, 0 for a push.
    """

    frequency_hz: float
    damping_ratio: float
    friction: float = 0.0
    runs_up_s: float = 0.0
    top_hz: float = 10.0


@dataclass(frozen=True, slots=True)
class Phone:
    """How a phone samples: rate, unsteadiness, losses, range [m/s²], and noise under the peak."""

    rate_hz: float = 100.0
    jitter: float = 0.1
    lost: float = 0.03
    range_ms2: float = 1e9
    snr_db: float = 20.0
    tilts: bool = True


@dataclass(frozen=True, slots=True)
class MadeLog:
    """Times [s], accelerations [m/s²] (n, 3), and the truth of the first tub."""

    times_s: Array
    axes: Array
    tub: Tub
    let_go_s: float

    @property
    def bounces(self) -> float:
        """Swings to a tenth by counting the stepped motion's own tops, see :func:`counted`."""
        return counted(self.tub)

    def csv(self, heading: str = "time,x,y,z", separator: str = ",") -> bytes:
        """The log as a file."""
        rows = np.column_stack([self.times_s, self.axes])
        lines = [separator.join(f"{value:.6g}" for value in row) for row in rows]
        return "\n".join([heading.replace(",", separator), *lines, ""]).encode()


@dataclass(slots=True)
class Pushing:
    """The hand: presses over ``press_s``, holds, lets go within ``leave_s``."""

    begins_s: float
    press_s: float
    hold_s: float
    leave_s: float
    more: list[float] = field(default_factory=list)

    @property
    def let_go_s(self) -> float:
        """When the hand is off."""
        return self.begins_s + self.press_s + self.hold_s + self.leave_s

    def force(self, times_s: Array) -> Array:
        """Share of the full press."""
        out = np.zeros_like(times_s)
        for begins in [self.begins_s, *self.more]:
            full, leaves = begins + self.press_s, begins + self.press_s + self.hold_s
            ends = leaves + self.leave_s
            out += np.interp(times_s, [begins, full, leaves, ends], [0.0, 1.0, 1.0, 0.0])
        return out


def stepped(tub: Tub, drive: Array) -> Array:
    """Acceleration [1/s² of the press] at each step under a force, in shares of the spring's."""
    omega = 2.0 * np.pi * tub.frequency_hz
    pull, half = omega * omega, tub.damping_ratio * omega * STEP_S
    place = speed = 0.0
    held = tub.friction * pull
    out = np.empty(len(drive))
    for n, push in enumerate((drive * pull).tolist()):
        force = push - pull * place
        if speed == 0.0 and abs(force) <= held:
            out[n] = 0.0
            continue
        moves = speed if speed != 0.0 else force
        rubs = held if moves > 0 else -held
        new = ((1.0 - half) * speed + STEP_S * (force - rubs)) / (1.0 + half)
        if held and speed * new < 0.0 and abs(force) <= held:
            new = 0.0
        out[n] = (new - speed) / STEP_S
        speed = new
        place += STEP_S * speed
    return out


def counted(tub: Tub) -> float:
    """Whole swings until the tops of a let-go tub are below a tenth, between tops by halves.

    Tops of the motion to either side are stepped, and the moment at which they would pass a
    tenth lies between two of them on the logarithm.
    """
    omega = 2.0 * np.pi * tub.frequency_hz
    pull, half = omega * omega, tub.damping_ratio * omega * STEP_S
    place, speed, tops = 1.0, 0.0, [1.0]
    for _ in range(int(60.0 / STEP_S)):
        rubs = tub.friction * pull * (1.0 if speed > 0 else -1.0 if speed < 0 else 0.0)
        new = ((1.0 - half) * speed + STEP_S * (-pull * place - rubs)) / (1.0 + half)
        if speed * new < 0.0:
            tops.append(abs(place))
            if tops[-1] < 0.1 or pull * tops[-1] <= tub.friction * pull:
                break
        speed = new
        place += STEP_S * speed
    if tops[-1] >= 0.1:
        return len(tops) / 2.0 - 0.5
    last, before = np.log(max(tops[-1], 1e-4)), np.log(tops[-2])
    return float(0.5 * (len(tops) - 2 + (before - np.log(0.1)) / (before - last)))


def spun(tub: Tub, times_s: Array) -> tuple[Array, Array]:
    """Force of an unbalanced basket that runs up, and its turns a second."""
    speed = 0.5 + (tub.top_hz - 0.5) * np.minimum(times_s / tub.runs_up_s, 1.0)
    angle = 2.0 * np.pi * np.cumsum(speed) * STEP_S
    return 0.02 * np.square(speed / tub.frequency_hz) * np.sin(angle), speed


def attitude(rng: np.random.Generator) -> Array:
    """Any turn of the phone (3, 3)."""
    found, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    return np.asarray(found)


def sampled(
    rng: np.random.Generator, motion: Array, tub: Tub, phone: Phone, let_go_s: float
) -> MadeLog:
    """What a phone writes of a motion (steps, 3) [m/s²] in the tub's own axes."""
    length = len(motion) * STEP_S
    steps = rng.normal(1.0, phone.jitter, int(length * phone.rate_hz * 1.2)).clip(0.2, None)
    times = np.cumsum(steps) / phone.rate_hz
    times = times[times < length - STEP_S]
    times = times[rng.random(len(times)) >= phone.lost]
    at = (times / STEP_S).astype(int)
    values = motion[at]
    free = motion[int(let_go_s / STEP_S) :]
    peak = float(np.linalg.norm(free, axis=1).max())
    noise = peak / 10.0 ** (phone.snr_db / 20.0)
    values = values + rng.normal(size=values.shape) * noise
    slow = rng.normal(size=(2, 3)) * (0.3 if phone.tilts else 0.0)
    down = np.array([0.0, 0.0, 9.81]) + np.outer(times / length, slow[0])
    down += np.outer(np.sin(2.0 * np.pi * times / length * rng.uniform(0.3, 1.0)), slow[1])
    axes = (values + down) @ attitude(rng)
    axes = np.clip(axes, -phone.range_ms2, phone.range_ms2)
    return MadeLog(times, axes, tub, let_go_s)


def pushed(
    rng: np.random.Generator, tub: Tub, phone: Phone, second: Tub | None = None, share: float = 0.4
) -> MadeLog:
    """A log of one push and what follows; ``second`` swings along by a share, another way."""
    return pushes(rng, tub, phone, second, share)


def pushes(
    rng: np.random.Generator,
    tub: Tub,
    phone: Phone,
    second: Tub | None = None,
    share: float = 0.4,
    again_s: float = 0.0,
) -> MadeLog:
    """The same, pushed a second time ``again_s`` after the first hand left, if it is not 0."""
    hand = Pushing(
        rng.uniform(0.6, 2.0), rng.uniform(0.25, 0.8), rng.uniform(0.0, 0.6), rng.uniform(0.02, 0.1)
    )
    if again_s:
        hand.more.append(hand.let_go_s + again_s)
    decay = 2.0 * np.pi * tub.frequency_hz * max(tub.damping_ratio, 0.01)
    last = hand.let_go_s + (hand.let_go_s - hand.begins_s + again_s if again_s else 0.0)
    length = last + min(max(4.5 / decay, 2.0), 14.0) + rng.uniform(0.5, 3.0)
    times = np.arange(0.0, length, STEP_S)
    force = hand.force(times)
    depth = rng.uniform(0.02, 0.06)
    motion = np.zeros((len(times), 3))
    motion[:, 2] = depth * stepped(tub, force)
    if second is not None:
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        other = stepped(second, force)
        scale = np.abs(motion[:, 2]).max() / np.abs(other).max()
        motion += share * scale * other[:, None] * way
    shaken = np.convolve(rng.normal(size=len(times)), np.ones(20) / 20, "same") * (force > 0.0)
    motion += 0.6 * shaken[:, None] * np.array([1.0, 0.6, 0.3])
    return sampled(rng, motion, tub, phone, hand.let_go_s)


def run_up(rng: np.random.Generator, tub: Tub, phone: Phone) -> MadeLog:
    """A log of an empty spin that speeds up evenly and holds for two seconds."""
    times = np.arange(0.0, tub.runs_up_s + 2.0, STEP_S)
    force, _ = spun(tub, times)
    motion = np.zeros((len(times), 3))
    motion[:, 2] = 0.05 * stepped(tub, force)
    motion[:, 0] = 0.3 * motion[:, 2]
    return sampled(rng, motion, tub, phone, 0.0)


def coasted(rng: np.random.Generator, tub: Tub, phone: Phone) -> MadeLog:
    """A log of an empty spin that runs two seconds and then down, evenly, to a crawl."""
    times = np.arange(0.0, tub.runs_up_s + 2.0, STEP_S)
    _, speed = spun(tub, times)
    speed = speed[::-1]
    angle = 2.0 * np.pi * np.cumsum(speed) * STEP_S
    force = 0.02 * np.square(speed / tub.frequency_hz) * np.sin(angle)
    motion = np.zeros((len(times), 3))
    motion[:, 2] = 0.05 * stepped(tub, force)
    motion[:, 0] = 0.3 * motion[:, 2]
    return sampled(rng, motion, tub, phone, 0.0)


def handled(rng: np.random.Generator, log: MadeLog) -> MadeLog:
    """The log with the phone laid down before and picked up after, a rest of its own between."""
    step = float(np.median(np.diff(log.times_s)))
    calm = log.axes[log.times_s < 0.5]
    parts = [log.axes]
    for side in (0, 1):
        rest = calm[rng.integers(0, len(calm), round(rng.uniform(0.3, 1.5) / step))]
        count = round(rng.uniform(0.8, 2.0) / step)
        turn = 2.0 * np.pi * np.outer(np.arange(count) * step, rng.uniform(0.4, 4.0, 4))
        wave = np.sin(turn + rng.uniform(0.0, 6.3, 4)) @ rng.normal(0.0, 3.0, (4, 3))
        moved = calm[rng.integers(0, len(calm), count)] + wave
        parts = [*parts, rest, moved] if side else [moved, rest, *parts]
    before = len(parts[0]) + len(parts[1])
    axes = np.concatenate(parts)
    first = log.times_s[0] + step * np.arange(before)
    late = float(log.times_s[-1]) + before * step
    after = late + step * np.arange(1, len(axes) - before - len(log.axes) + 1)
    times = np.concatenate([first, log.times_s + before * step, after])
    return replace(log, times_s=times, axes=axes, let_go_s=log.let_go_s + before * step)


def cut(log: MadeLog, first_s: float, last_s: float = np.inf) -> MadeLog:
    """A piece of a log."""
    kept = (log.times_s >= first_s) & (log.times_s <= last_s)
    return replace(log, times_s=log.times_s[kept], axes=log.axes[kept])


def any_tub(rng: np.random.Generator, low: float = 0.02, high: float = 0.25) -> Tub:
    """A tub of 1 to 6 Hz."""
    return Tub(float(rng.uniform(1.0, 6.0)), float(rng.uniform(low, high)))


def any_phone(rng: np.random.Generator, snr_db: float) -> Phone:
    """A phone of 50 to 200 samples a second."""
    rate = float(np.exp(rng.uniform(np.log(50.0), np.log(200.0))))
    return replace(Phone(), rate_hz=rate, snr_db=snr_db)
