"""The range in which a formula is true; outside it there is an error, never a number."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tubside.errors import OutsideRangeError

Floats = npt.NDArray[np.float64]
Number = float | Floats


def within(name: str, value: Number, low: float, high: float, unit: str) -> Floats:
    """``value`` as an array, if all of it lies in [low, high].

    Raises
    ------
    OutsideRangeError
        With the first value outside, its name, the range and the unit. Not a number
        is outside every range.

    Examples
    --------
    >>> float(within("temperature", 300.0, 273.15, 373.15, "K"))
    300.0
    """
    array = np.asarray(value, dtype=float)
    inside = (array >= low) & (array <= high)
    if not inside.all():
        first = float(array[~inside].flat[0]) if array.ndim else float(array)
        raise OutsideRangeError(name, first, low, high, unit)
    return array
