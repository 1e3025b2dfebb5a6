"""Suggestions for names that are nearly right."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

MOST_LISTED = 12


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name spelt most like ``name``, or None if none is near."""
    by_folded = {_folded(each): each for each in known}
    close = get_close_matches(_folded(name), by_folded, n=1, cutoff=0.6)
    return by_folded[close[0]] if close else None


def or_one_of(name: str, known: Iterable[str]) -> str:
    """Return how to mend an unknown name: the nearest spelling, or what there is to choose from."""
    names = list(known)
    close = nearest(name, names)
    if close is not None:
        return f"did you mean '{close}'?"
    if not names:
        return "none is defined: remove it"
    listed = ", ".join(names[:MOST_LISTED]) + (", ..." if len(names) > MOST_LISTED else "")
    return f"use one of: {listed}"


def _folded(name: str) -> str:
    return name.lower().replace("_", "-").replace(" ", "-")
