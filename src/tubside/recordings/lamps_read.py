"""What lamps do, from one clip or several: likelihoods under a flat prior, and advice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.lamp_fits import LampFit, reached_share
from tubside.recordings.lamp_levels import Levelled, levelled
from tubside.recordings.lamp_model import explanations
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.panel_ways import Way, panel_ways, strobes
from tubside.recordings.rhythms import blink_counts
from tubside.recordings.sampling import locked, may_flash_unseen, proven, refutes, ripple

Array = NDArray[np.float64]
STATES = ("off", "steady", "flashing")
SURE = 0.97
SEEN_DARK = (0.0, -20.0, -20.0)
NEVER_CAUGHT = (0.0, 0.0, 0.0)
UNSEEN_FLASH = -4.0
ALIKE_NATS = 4.0
EXPLAINED = 0.5
UNEXPLAINED = (-1e4, 0.0, 0.0)
TEMPERATURE = 1.5
PANEL_TEMPERATURE = 10.0
OPEN_NATS = 25.0
SLIP = 0.01
SAME_PERIOD = 0.04
OTHER_PERIOD_NATS = 12.0
TOGETHER = 0.15
SAME_PATH = 0.85
SURE_GROUPS = 2
DIM = "Dim the room, use no torch, and film again: the camera then sees every lamp in every frame."
AGAIN = "Film again at another frame rate, 24 or 60 frames a second."
CLOSER = "Hold the phone so that no reflection lies on the lamps, and film again."


@dataclass(frozen=True, slots=True)
class ReadLamp:
    """One lamp: its state or ``unknown``, likelihoods by state, and how it flashes.

    ``group`` numbers lamps that flash together; ``counts`` are blinks of complete groups.
    """

    state: str
    probability: dict[str, float]
    period_s: float | None = None
    duty: float | None = None
    group: int | None = None
    counts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadPanel:
    """Every lamp by id, and what to do about those that stay unknown."""

    lamps: dict[str, ReadLamp]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OneClip:
    """What one clip says: nats by lamp and state, the best way to read it, hidden lamps."""

    nats: Array
    best: Way
    times_s: Array
    hidden: NDArray[np.bool_]


def one_clip(clip: LampSeries) -> OneClip:
    """Return what one clip says of each lamp, summed over the ways to account for the panel.

    Lamps of a panel are read rightly or wrongly together, so ways are told apart less surely
    than their nats say: these are divided by ``PANEL_TEMPERATURE``. Where one multiplex
    strobes, a flash of lamps thought to be of another may be a beat too.
    """
    level = levelled(clip)
    ways = panel_ways(explanations(clip, level), clip.length_s)
    weights = np.array([way.nats for way in ways])
    best = ways[int(weights.argmax())]
    rows = np.array([way.rows for way in ways])
    others = np.logaddexp.reduce(rows, axis=2)
    joint = rows + (weights[:, None] / PANEL_TEMPERATURE - others)[:, :, None]
    nats = np.logaddexp.reduce(joint, axis=0)
    nats = nats - nats.max(axis=1, keepdims=True)
    share = reached_share(level, best.lamps)
    likely = likely_ways(clip, level, ways, best)
    sure = all_proven(clip, level, best, likely)
    sure &= bool((share[level.lit] > EXPLAINED).all())
    dark = ~level.lit
    nats[dark] = np.where(sure[dark, None], SEEN_DARK, NEVER_CAUGHT)
    for way in likely:
        leave_open(clip, way, sure & dark, nats)
    nats[level.lit & (share < EXPLAINED)] = UNEXPLAINED
    hidden = level.seen.mean(1) < 0.5
    nats[hidden] = 0.0
    return OneClip(nats, best, clip.times_s, hidden)


def likely_ways(clip: LampSeries, level: Levelled, ways: list[Way], best: Way) -> list[Way]:
    """Return the best way and those little worse, but for beats that a sure ripple refutes.

    Where every frame sees the lamps, a flash may be taken for a slow beat; but a ripple of
    another rate shows the true multiplex.
    """
    near = [way for way in ways if way.nats > best.nats - OPEN_NATS]
    if best.strobes or not any(way.strobes for way in near):
        return near
    found = ripple(clip, level, best.parts[0])
    return [
        way
        for way in near
        if not any(
            part.beat is not None and strobes(part) and refutes(found, part.beat, clip.length_s)
            for part in way.parts
        )
    ]


def all_proven(
    clip: LampSeries, level: Levelled, best: Way, likely: list[Way]
) -> NDArray[np.bool_]:
    """Return the lamps surely looked at, under the best way and the best of the other kind."""
    rivals = [way for way in likely if way.strobes != best.strobes]
    ways = [best, *([max(rivals, key=lambda way: way.nats)] if rivals else [])]
    parts = [part for way in ways for part in way.parts]
    return np.asarray(np.all([proven(clip, level, part) for part in parts], axis=0))


def leave_open(clip: LampSeries, way: Way, off: NDArray[np.bool_], nats: Array) -> None:
    """Raise, in place, the nats of states that the beats of a likely way may hide.

    ``off`` are the lamps that stay dark and are proven to have been looked at.
    """
    for part in way.parts:
        if part.beat is not None and strobes(part):
            if off.any() and may_flash_unseen(clip, part.beat, part):
                nats[off, 2] = UNSEEN_FLASH
            alike = locked(clip, part.beat, part) & (nats[:, 1] > nats[:, 2])
            nats[alike, 2] = np.maximum(nats[alike, 2], nats[alike, 1] - ALIKE_NATS)
        elif way.strobes:
            flashes = part.lit & (nats[:, 2] > nats[:, 1])
            nats[flashes, 1] = np.maximum(nats[flashes, 1], nats[flashes, 2] - ALIKE_NATS)


def read_lamps(clips: Sequence[LampSeries]) -> ReadPanel:
    """Return what the lamps do, from clips of the same panel in the same indication.

    Parameters
    ----------
    clips : sequence of LampSeries
        One or more, with the same lamps; their likelihoods multiply.

    Raises
    ------
    RecordingError
        No clip, or clips of different lamps.
    """
    if not clips or any(clip.names != clips[0].names for clip in clips):
        msg = "clips to be read together must show the same lamps; give the same taps for each"
        raise RecordingError(msg)
    read = [one_clip(clip) for clip in clips]
    nats = np.sum([np.log(chances(one.nats)) for one in read], axis=0)
    nats[:, 2] -= OTHER_PERIOD_NATS * np.array([periods_differ(read, k) for k in range(len(nats))])
    chance = np.exp(nats - np.logaddexp.reduce(nats, axis=1)[:, None])
    clear = max(read, key=lambda one: float(-np.sort(one.nats, axis=1)[:, 1].sum()))
    lamps = [told(row, clear, k) for k, row in enumerate(chance)]
    return ReadPanel(
        dict(zip(clips[0].names, grouped(lamps, clear), strict=True)), advised(lamps, read)
    )


def chances(nats: Array) -> Array:
    """Return one clip's likelihoods by lamp and state, with the chance that it is misread.

    Clips are misread each for itself, so this enters before they are multiplied: two that
    contradict one another leave a lamp open, however sure each is.
    """
    warm = nats / TEMPERATURE
    chance = np.exp(warm - np.logaddexp.reduce(warm, axis=1)[:, None])
    return np.asarray((1.0 - SLIP) * chance + SLIP / len(STATES))


def told(chance: Array, clip: OneClip, k: int) -> ReadLamp:
    """Return one lamp's answer from its likelihoods."""
    probability = {name: round(float(p), 4) for name, p in zip(STATES, chance, strict=True)}
    state = STATES[int(chance.argmax())] if chance.max() >= SURE else "unknown"
    if state != "flashing":
        return ReadLamp(state, probability)
    fit = clip.best.lamps[k]
    blinks = blink_counts(clip.times_s, fit.path)
    if fit.counted:
        counts = blinks.counts
        few = clip.best.strobes and len(counts) < SURE_GROUPS
        if few or len(set(counts)) > 1 or 1 in counts:
            counts = ()
        period = round(blinks.period_s, 4) if blinks.period_s and counts else None
        return ReadLamp(state, probability, period, counts=counts)
    return ReadLamp(state, probability, round(fit.rhythm.period_s, 4), round(fit.rhythm.duty, 3))


def periods_differ(read: list[OneClip], k: int) -> bool:
    """Return whether clips show a lamp flash at different periods: then it is a beat."""
    fits = [one.best.lamps[k] for one in read if one.nats[k].argmax() == STATES.index("flashing")]
    periods = [fit.rhythm.period_s for fit in fits]
    even = len(periods) > 1 and not any(fit.counted for fit in fits)
    return even and bool(np.ptp(np.log(periods)) > SAME_PERIOD)


def together(one: LampFit, other: LampFit, middle_s: float) -> bool:
    """Return whether two flashing lamps light at the same times."""
    if one.counted or other.counted:
        return one.counted == other.counted and bool((one.path == other.path).mean() > SAME_PATH)
    a, b = one.rhythm, other.rhythm
    if abs(np.log(a.period_s / b.period_s)) > SAME_PERIOD:
        return False
    centres = [((middle_s - r.start_s) / r.period_s - r.duty / 2) % 1.0 for r in (a, b)]
    apart = abs(centres[0] - centres[1])
    return bool(min(apart, 1.0 - apart) < TOGETHER)


def grouped(lamps: list[ReadLamp], clip: OneClip) -> list[ReadLamp]:
    """Return the lamps with a number for each set that flashes at the same time."""
    heads: list[int] = []
    numbers: list[int | None] = []
    middle = float(clip.times_s.mean())
    for k, lamp in enumerate(lamps):
        if lamp.state != "flashing":
            numbers.append(None)
            continue
        fit = clip.best.lamps[k]
        same = [n for n, h in enumerate(heads) if together(clip.best.lamps[h], fit, middle)]
        heads += [] if same else [k]
        numbers.append(same[0] + 1 if same else len(heads))
    return [replace(one, group=number) for one, number in zip(lamps, numbers, strict=True)]


def advised(lamps: list[ReadLamp], read: list[OneClip]) -> tuple[str, ...]:
    """Return what to do about the lamps that stay unknown, most useful first."""
    if all(lamp.state != "unknown" for lamp in lamps):
        return ()
    glare = any(one.hidden.any() for one in read)
    return (DIM, AGAIN, *((CLOSER,) if glare else ()))
