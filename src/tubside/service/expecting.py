"""What to expect of a reading before it is taken: where each leading cause would put it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.diagnosis.reading_bins import Shown, shown_numbers
from tubside.pack.fault_model import Bools, Floats, Reading
from tubside.service.knowledge import Knowledge
from tubside.service.wording import between, figures

SHOWN_CAUSES = 3
LEAST_SHOWN = 0.01
"""A cause less likely than this gets no curve."""
POINTS = 72
OUTER = (0.05, 0.5, 0.95)
WIDE = 25.0
"""Numbers that differ by more than this factor are drawn over their logarithm."""
NARROWEST = 0.85
"""Width of the kernel under a curve, of what a normal curve would take."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Where one cause alone would put the number, in the unit of the reading.

    Of a hundred such readings ninety lie from ``low`` to ``high``; in a share ``never``
    of them there is no number. ``heights`` run from 0 to 100 along the axis.
    """

    title: str
    low: float
    middle: float
    high: float
    never: float
    heights: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Expectation:
    """The curves of a reading over one axis; the first is that of a sound machine."""

    unit: str
    start: float
    end: float
    logarithmic: bool
    curves: tuple[Curve, ...]
    most: float = float("inf")
    """Where measuring ends."""
    sheet: tuple[str, ...] = ()
    """What the model's own sheet says of it, each with where it is from."""

    @property
    def good(self) -> str:
        """Where ninety of a hundred sound machines lie."""
        return self.words(self.curves[0])

    def words(self, curve: Curve) -> str:
        """A curve in words."""
        if curve.never > 0.5:
            return "no number at all, or never"
        if curve.low > self.most:
            return f"over {figures(self.most)} {self.unit}".strip()
        told = between(curve.low, min(curve.high, self.most))
        if curve.high > self.most:
            told = f"{between(curve.low, curve.low)} to over {figures(self.most)}"
        text = f"{told} {self.unit}".strip()
        return f"{text}, or no number at all" if curve.never > 0.05 else text

    def place(self, number: float) -> float:
        """How far along the axis a number lies, 0 to 1."""
        start, end = self.start, self.end
        if self.logarithmic:
            start, end, number = (float(np.log(max(x, 1e-300))) for x in (start, end, number))
        return float(np.clip((number - start) / (end - start), 0.0, 1.0))


def expectation(
    known: Knowledge,
    evidence: Evidence,
    leading: Sequence[tuple[str, float]],
    check: str,
    observer: int,
) -> Expectation | None:
    """What a check would read now; None where it reads no number or nothing predicts it.

    Parameters
    ----------
    leading
        Ids of causes with their chances, the likeliest first; healthy ones are passed over.
    """
    model = known.model
    one = model.checks[model.names.checks.index(check)]
    if one.reading is None or model.predicting is None:
        return None
    touching = set(model.predicting.touching(one.reading.quantity).tolist())
    causes = [
        model.names.causes.index(name)
        for name, chance in leading
        if name in model.names.causes and chance >= LEAST_SHOWN
    ]
    causes = [cause for cause in causes if cause in touching][:SHOWN_CAUSES]
    rows = _alone(model.n_causes, causes, len(evidence.treatments) + 1)
    shown = shown_numbers(model, evidence, rows, one, observer)
    titles = [known.pack.causes[model.names.causes[cause]].title for cause in causes]
    found = _drawn(one.reading, shown, ["sound", *titles])
    return replace(found, sheet=on_the_sheet(known, one.reading.quantity))


def on_the_sheet(known: Knowledge, quantity: str) -> tuple[str, ...]:
    """What the model's own sheet says of a quantity, in words; () where it says nothing."""
    from tubside.machine.as_built import has_drum, said_of  # noqa: PLC0415  # few models have a sheet

    if known.panel is None or not known.panel.sheet:
        return ()
    said = said_of(known.panel, quantity, drum=has_drum(known.model.names.stages))
    return tuple(it.words for it in said)


def likely_number(
    known: Knowledge, evidence: Evidence, check: str, cause: str, observer: int
) -> str:
    """The number in the middle of what a check shows with a cause alone, or with none ("")."""
    found = expectation(known, evidence, [(cause, 1.0)], check, observer)
    if found is None:
        return "could not look"
    curve = found.curves[-1]
    if curve.never > 0.5:
        return "no reading"
    if curve.middle > found.most:
        return f"over {found.most:.6g} {found.unit}".strip()
    return f"{curve.middle:.4g} {found.unit}".strip()


def _alone(count: int, causes: Sequence[int], times: int) -> Rows:
    """Rows of no cause, and of each cause alone all along."""
    members: Bools = np.zeros((len(causes) + 1, count), dtype=bool)
    members[np.arange(1, len(causes) + 1), list(causes)] = True
    sets = Sets(members, np.where(members.any(axis=1), -1, 0))
    return Rows(sets, (members,) * times, np.zeros(len(members)), np.arange(len(members)))


def _drawn(reading: Reading, shown: Shown, titles: Sequence[str]) -> Expectation:
    numbers = (shown.numbers[shown.signed.index] - reading.shift) / reading.slope
    weights = shown.weights[shown.signed.index]
    ends = [_quantiles(n, w, (0.01, 0.99)) for n, w in zip(numbers, weights, strict=True)]
    known = [pair for pair in ends if pair is not None] or [(0.0, 1.0)]
    start, end = min(low for low, _ in known), max(high for _, high in known)
    logarithmic = start > 0.0 and end > WIDE * start
    if not logarithmic:
        room = 0.06 * (end - start) or abs(start) or 1.0
        start, end = (0.0 if 0.0 <= start < 0.3 * end else start - room), end + room
    frame = Expectation(reading.unit, start, end, logarithmic, ())
    curves = [
        _curve(frame, title, n, w) for title, n, w in zip(titles, numbers, weights, strict=True)
    ]
    most = (reading.most - reading.shift) / reading.slope
    return Expectation(reading.unit, start, end, logarithmic, tuple(curves), most)


def _curve(frame: Expectation, title: str, numbers: Floats, weights: Floats) -> Curve:
    finite = np.isfinite(numbers)
    never = float(weights[~finite].sum())
    low, middle, high = _quantiles(numbers, weights, OUTER) or (np.nan, np.nan, np.nan)
    places = np.array([frame.place(x) for x in numbers[finite]])
    heights = _heights(places, weights[finite])
    return Curve(title, low, middle, high, never, heights)


def _heights(places: Floats, weights: Floats) -> tuple[int, ...]:
    """A smooth curve through places on the axis, 100 at its top."""
    if not len(places) or weights.sum() <= 0.0:
        return (0,) * POINTS
    middle = np.average(places, weights=weights)
    spread = float(np.sqrt(np.average((places - middle) ** 2, weights=weights)))
    few = float(np.square(weights.sum()) / np.square(weights).sum())
    width = max(NARROWEST * 1.06 * spread * few**-0.2, 0.012)
    z = (np.linspace(0.0, 1.0, POINTS)[:, None] - places[None, :]) / width
    density = np.exp(-0.5 * z * z) @ weights
    return tuple(round(100.0 * float(x)) for x in density / density.max())


def _quantiles(
    numbers: Floats, weights: Floats, shares: Sequence[float]
) -> tuple[float, ...] | None:
    """Weighted quantiles of the finite numbers; None where there are none."""
    finite = np.isfinite(numbers) & (weights > 0.0)
    if not finite.any():
        return None
    order = np.argsort(numbers[finite], kind="stable")
    held = np.cumsum(weights[finite][order])
    at = np.searchsorted(held, np.array(shares) * held[-1]).clip(max=len(order) - 1)
    return tuple(float(x) for x in numbers[finite][order][at])
