"""Closed jobs of an invented shop that meets one cause far more often than the pack says."""

from __future__ import annotations

from datetime import date, timedelta

from tubside.learning.history import MILLION, ClosedJob, Sure

OFTEN, ELSE = "pump-object", "belt"


def some_jobs(often: int = 60, rest: int = 20, shop: str = "own") -> tuple[ClosedJob, ...]:
    """Jobs on front-loaders: so many blocked by an object, so many with a belt off."""
    kinds = [(OFTEN, "wont_drain")] * often + [(ELSE, "motor_locked")] * rest
    return tuple(
        ClosedJob(
            job=f"job-{number:05}",
            closed=date(2025, 1, 6) + timedelta(days=number),
            family="front_load",
            shop=shop,
            complaint=complaint,
            age_years=float(number % 12),
            causes={cause: MILLION},
            sure=_sure(number),
            minutes={"strainer": 4 + number % 3},
        )
        for number, (cause, complaint) in enumerate(kinds)
    )


def _sure(number: int) -> Sure:
    return "seen" if number % 4 else "remedy-worked"
