"""One condition in one part of a cycle: which machines meet it there."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.pack.fault_model import Bools


@dataclass(frozen=True, slots=True)
class Event:
    """One condition in one part of the cycle: which machines meet it there."""

    part: str
    condition: str
    met: Bools  # (D,)


LIT = 0.25
"""A controller that runs less than this is dead, one below three quarters only lit."""
