"""What a clip of a panel says for each of its indications: virtual evidence.

Evidence that is not certain enters a belief as the chance of the evidence under each value
of a variable, and never as a posterior, so that no prior counts twice (Pearl 1988, section
2.2.2, virtual evidence). A lamp's likelihoods are given under a flat prior, so they stand in
the same ratio as the chances of what was filmed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import exp, log, pi, sqrt

from tubside.errors import UnknownNameError
from tubside.panel.lights import MOST_BLINKS, OFF, Light
from tubside.panel.matching import by_condition, mixed_up
from tubside.panel.schema import Panel
from tubside.recordings.lamps_read import ReadLamp, ReadPanel

LEAST = 0.002
"""Least likelihood of a lamp's state: no clip is surer of a lamp (simulated clips)."""

WRONG_PANEL = 0.01
"""Share of clips in which a whole panel is misread (simulated clips)."""

WRONG_RHYTHM = 0.03
"""Chance that an even flash is read as a count, a count as even, or as another count."""

PERIOD_SPREAD = 0.1
"""Spread of a model's own period about its file's, relative (common practice, no source)."""

PERIOD_DOUBT = 0.2
"""Chance that the file's period is not the model's (common practice, no source)."""

PERIODS_S = (0.2, 4.0)


def indication_likelihoods(read: ReadPanel, panel: Panel) -> dict[str, float]:
    """P(what was filmed | indication) up to one factor, for every indication of the panel.

    Lamps speak each for itself, but for a small chance that the whole panel was misread. A
    lamp that the clip does not hold says nothing.

    Parameters
    ----------
    read : ReadPanel
        Lamps by the ids of the panel.
    panel : Panel
        The model's panel.

    Raises
    ------
    UnknownNameError
        A lamp of the clip is not on the panel.
    """
    told = _told(read, panel)
    return {name: told[name] for name in panel.indications}


def likelihoods_and_blank(read: ReadPanel, panel: Panel) -> dict[str, float]:
    """As :func:`indication_likelihoods`, with that of a panel that shows nothing under BLANK.

    Raises
    ------
    UnknownNameError
        A lamp of the clip is not on the panel.
    """
    return _told(read, panel)


def condition_likelihoods_of_clip(
    read: ReadPanel, panel: Panel, conditions: Collection[str]
) -> dict[str, float]:
    """P(what was filmed | condition) up to one factor: what a belief takes in.

    A condition that the panel cannot show, or a name of none, leaves it blank.

    Raises
    ------
    UnknownNameError
        A lamp of the clip is not on the panel.
    """
    return by_condition(panel, _told(read, panel), conditions)


def _told(read: ReadPanel, panel: Panel) -> dict[str, float]:
    """P(filmed | indication) and, under its own name, of the blank panel."""
    unknown = [lamp for lamp in read.lamps if lamp not in panel.lamps]
    if unknown:
        known = ", ".join(panel.lamps)
        msg = f"the {panel.name} has no lamp {unknown[0]}; its lamps are {known}"
        raise UnknownNameError(msg)
    own = {
        name: _of_lights(read, panel.lights(name), shown.period_s)
        for name, shown in panel.indications.items()
    }
    return mixed_up(own, _of_lights(read, dict.fromkeys(panel.lamps, OFF), None), WRONG_PANEL)


def _of_lights(read: ReadPanel, lights: Mapping[str, Light], period_s: float | None) -> float:
    """P(filmed | true lights), a period counted once: lamps of a panel share it."""
    value, timed = 1.0, False
    for name, lamp in read.lamps.items():
        light = lights[name]
        state = "flashing" if light.changes else light.kind
        value *= max(lamp.probability[state], LEAST)
        if light.changes and lamp.state == "flashing":
            value *= rhythm_likelihood(lamp, light)
            if not timed and lamp.period_s is not None:
                value *= period_likelihood(lamp.period_s, period_s)
                timed = True
    return value if timed else value / log(PERIODS_S[1] / PERIODS_S[0])


def rhythm_likelihood(lamp: ReadLamp, light: Light) -> float:
    """P(an even flash or these counts were read | a lamp that flashes or counts).

    Every complete group must tell the same count; where they do not, or where neither
    count nor period was read, nothing is said. A lamp of single blinks flashes evenly.

    Examples
    --------
    >>> from tubside.panel.lights import FLASHING, blinks
    >>> seen = ReadLamp("flashing", {"off": 0.0, "steady": 0.0, "flashing": 1.0}, counts=(3, 3))
    >>> [round(rhythm_likelihood(seen, true), 4) for true in (blinks(3), blinks(4), FLASHING)]
    [0.97, 0.0014, 0.0027]
    """
    counted = light.kind == "blinks" and light.count > 1
    if lamp.counts:
        if len(set(lamp.counts)) > 1:
            return 1.0
        if not counted:
            return WRONG_RHYTHM / (MOST_BLINKS - 1)
        right = lamp.counts[0] == light.count
        return 1 - WRONG_RHYTHM if right else WRONG_RHYTHM / 2 / (MOST_BLINKS - 1)
    if lamp.period_s is None:
        return 1.0
    return WRONG_RHYTHM / 2 if counted else 1 - WRONG_RHYTHM


def period_likelihood(read_s: float, file_s: float | None) -> float:
    """Density of the logarithm of a period read, given the file's (None: it says none).

    Examples
    --------
    A period as in the file speaks for it, twice that period against:

    >>> [round(period_likelihood(read, 1.1), 3) for read in (1.1, 2.2)]
    [3.258, 0.067]
    """
    anything = 1 / log(PERIODS_S[1] / PERIODS_S[0])
    if file_s is None:
        return anything
    off = log(read_s / file_s) / PERIOD_SPREAD
    near = exp(-off * off / 2) / (PERIOD_SPREAD * sqrt(2 * pi))
    return (1 - PERIOD_DOUBT) * near + PERIOD_DOUBT * anything
