"""What a panel sounds like, for a clip: only its kind is known, so pitch and pace are ours.

Notes are three, falling; pulses are short and come on the second; a steady tone lasts
as long as a breath (common practice, no source).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.panel.lights import Sound

Samples = NDArray[np.float32]
RATE = 48_000
"""Samples a second."""
SOFT_S = 0.008
"""Rise and fall of a tone, so that it does not click."""
LEVEL = 0.25

Tone = tuple[float, float, float]
"""Begin [s], length [s], pitch [Hz]."""
TONES: dict[Sound, tuple[Tone, ...]] = {
    "none": (),
    "notes": ((0.1, 0.28, 1318.5), (0.45, 0.28, 1046.5), (0.8, 0.45, 784.0)),
    "pulses": tuple((0.1 + 0.5 * n, 0.2, 2048.0) for n in range(4)),
    "steady tone": ((0.1, 2.0, 1760.0),),
}
MADE_UP = "only the kind of sound is the machine's, not its pitch and pace"


def tune_of(sound: Sound, length_s: float) -> Samples:
    """The sound once from its beginning, then silence; mono, shape (samples,), within +-1.

    >>> tune_of("pulses", 3.0).shape, float(abs(tune_of("none", 1.0)).max())
    ((144000,), 0.0)
    """
    samples = np.zeros(round(length_s * RATE), np.float32)
    for begin, length, pitch in TONES[sound]:
        t = np.arange(round(length * RATE)) / RATE
        edge = np.clip(np.minimum(t, length - t) / SOFT_S, 0, 1)
        tone = LEVEL * np.sin(2 * np.pi * pitch * t) * np.sin(np.pi / 2 * edge) ** 2
        first = round(begin * RATE)
        room = samples[first : first + len(tone)]
        room += tone[: len(room)].astype(np.float32)
    return samples
