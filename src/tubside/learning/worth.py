"""What a pack's own word counts for, in jobs: its pseudo-counts.

Common practice, no source: chosen so that a shop of some hundred jobs a year moves its weights
within the first year and a row of a finding within a few dozen jobs.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """Jobs (or values) that the pack's word on each kind of number counts for."""

    weights: float = 50.0
    """All weights together."""
    reported: float = 20.0
    """The row of ``reported_as`` of one cause."""
    outcomes: float = 20.0
    """The row of a finding for one cause."""
    clears: float = 10.0
    """One chance to clear."""
    minutes: float = 5.0
    minutes_sigma: float = 0.5
    """Spread of ln(minutes) from job to job."""
    price: float = 3.0
    price_sigma: float = 0.3
    ageing_sigma: float = 0.35
    """How far off the pack may be in ln(shape)."""
    second_faults: float = 50.0


USUAL = Worth()
