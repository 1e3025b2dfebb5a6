"""A loop as a GIF: one palette, no speckles on plain fields, times that do not drift."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from numpy.typing import NDArray

from tubside.panel.moving.loop import LONGEST_S
from tubside.panel.moving.pictures import Pictures

SHORTEST = 2
"""Hundredths of a second; browsers take what is shorter for a tenth (seen, no source)."""
MOST_ROUNDS = 10
EXACT = 1e-4
"""Share of a round by which its rounded length may be off."""
COLOURS = 256


def hundredths(starts_s: NDArray[np.float64], length_s: float) -> tuple[NDArray[np.intp], int]:
    """How long each state stands [1/100 s], over as many rounds as come out even.

    The moments are rounded and not the spans, so that nothing drifts over the loop; the
    whole is rounded up, so that its end brings no flash closer. Returns the spans, shape
    (rounds x states,), and the number of rounds.

    >>> hundredths(np.array([0.0, 0.2]), 1 / 3)
    (array([20, 13, 20, 14, 20, 13]), 3)
    >>> hundredths(np.array([0.0, 0.605]), 1.1)
    (array([60, 50]), 1)
    """
    rounds = even_rounds(length_s)
    begun = (np.arange(rounds)[:, None] * length_s + starts_s).ravel()
    moments = np.rint(np.round(begun * 100, 4)).astype(np.intp)
    end = int(np.ceil(np.round(rounds * length_s * 100, 4)))
    return np.diff(np.append(moments, end)), rounds


def even_rounds(length_s: float) -> int:
    """The fewest rounds that last whole hundredths of a second, or nearly so."""
    most = max(1, min(MOST_ROUNDS, int(LONGEST_S / length_s)))
    whole = np.arange(1, most + 1) * length_s * 100
    off = np.abs(whole - np.rint(whole)) / whole
    good = np.flatnonzero(off < EXACT)
    return int(good[0] if len(good) else off.argmin()) + 1


def gif_of(pictures: Pictures) -> bytes:
    """The loop as a GIF that plays for ever; its comment tells the true and the drawn rate."""
    from PIL import Image  # noqa: PLC0415  # of the extra "app", which drew the pictures

    loop = pictures.loop
    tall = Image.fromarray(np.concatenate(list(pictures.pictures)))
    palette = tall.quantize(COLOURS, dither=Image.Dither.NONE)
    frames = [
        Image.fromarray(one).quantize(palette=palette, dither=Image.Dither.NONE)
        for one in pictures.pictures
    ]
    spans, rounds = hundredths(loop.starts_s, loop.length_s)
    shown = [frames[n] for n in np.tile(pictures.which, rounds)]
    out = BytesIO()
    more = {
        "save_all": True,
        "append_images": shown[1:],
        "duration": [int(span) * 10 for span in spans],
        "loop": 0,
    }
    alone = {} if len(shown) == 1 else more
    comment = f"{pictures.title}. {pictures.told}".encode()
    shown[0].save(out, "GIF", comment=comment, optimize=False, **alone)
    return out.getvalue()
