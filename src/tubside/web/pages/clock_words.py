"""Moments in words, where this machine stands."""

from __future__ import annotations

from datetime import datetime


def hhmm(moment: datetime) -> str:
    """Return a time of day where this machine stands."""
    return f"{moment.astimezone():%H:%M}"


def hhmm_day(moment: datetime) -> str:
    """Return a day in words where this machine stands."""
    here = moment.astimezone()
    return f"{here:%A}, {here.day} {here:%B}"
