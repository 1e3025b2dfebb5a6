"""What a policy is: where jobs stand -> what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from tubside.diagnosis.solve.state import State, Step


class Policy(Protocol):
    """Chooses the next step; many states at once, because that is quicker than one by one."""

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return a step for each state; none of the states is done."""
        ...
