"""Write ``docs/parameters.md`` from the parameters and limits that packs may name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from tubside.pack.parameters import (
    CONTROLLER,
    DRYING,
    PARAMETERS,
    WASHING,
    Kind,
    Limit,
    Parameter,
)

PAGE = Path(__file__).parents[1] / "docs" / "parameters.md"
OPENING = """\
# Parameters of a machine

The names that a pack may use under `machine`, `controller` and `moves`, and what a value
can be at all. [Writing a pack](pack.md) tells how to use them. A value is written with any
unit of its kind, `350 kPa` or `3.5 bar`; here the SI unit stands. Fractions have none and
run from 0 (shut, none, dead) to 1 (as built). A machine washes or dries: a pack states all
that stands here of its kind and of every machine, and nothing of the other kind.
(This page is written by `make commands` from the program.)
"""
PLACES = {
    "site": "What the house and its site give",
    "machine": "What belongs to the machine",
    "load": "What is put in",
}


def page() -> str:
    """Return the whole page."""
    parts = [OPENING]
    for place, heading in PLACES.items():
        here = {name: of for name, of in PARAMETERS.items() if of.place == place}
        parts += [f"## {heading}\n", *by_kind(here)]
    parts += ["## The controller: program, time-outs and limits\n", *by_kind(CONTROLLER)]
    return "\n".join(parts)


def by_kind(named: Mapping[str, Parameter] | Mapping[str, Limit]) -> Iterator[str]:
    """Yield a table for what both kinds of machine have, and one for each kind."""
    for title, belongs in KINDS:
        here = {name: of for name, of in named.items() if belongs(name)}
        if here:
            yield f"{title}\n"
            yield table(here)  # type: ignore[arg-type]  # all are of one sort, as given


def _has(kind: Kind, name: str) -> bool:
    return name in kind.parameters or name in kind.limits


KINDS: tuple[tuple[str, Callable[[str], bool]], ...] = (
    ("Of every machine:", lambda name: _has(WASHING, name) and _has(DRYING, name)),
    ("Of a machine that washes:", lambda name: not _has(DRYING, name)),
    ("Of a machine that dries:", lambda name: not _has(WASHING, name)),
)


def table(named: Mapping[str, Parameter] | Mapping[str, Limit]) -> str:
    """Return a heading and one row for each name."""
    heading = ["| name | is | unit | from | to |", "|---|---|---|---|---|"]
    return "\n".join([*heading, *rows(named), ""])


def rows(named: Mapping[str, Parameter] | Mapping[str, Limit]) -> Iterator[str]:
    """Yield the rows of a table."""
    for name, of in named.items():
        unit = "" if of.unit == "1" else f"`{of.unit}`"
        yield f"| `{name}` | {of.title} | {unit} | {of.low:g} | {of.high:g} |"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
