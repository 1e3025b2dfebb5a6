"""One thing to measure at a machine, and the formula by which it comes about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats

Formula = Callable[[Values], Floats]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing to measure: its SI unit ("1" is a plain number) and how it comes about.

    ``needs`` names the parameters that it hangs on; no other changes it.
    """

    title: str
    unit: str
    needs: frozenset[str]
    formula: Formula


def of(title: str, unit: str, needs: tuple[str, ...], formula: Formula) -> Quantity:
    """A quantity by formula."""
    return Quantity(title, unit, frozenset(needs), formula)


def plain(title: str, unit: str, name: str) -> Quantity:
    """A parameter that is read as it is."""
    return of(title, unit, (name,), lambda v: v[name])
