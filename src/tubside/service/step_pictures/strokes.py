"""How the pictures of customers' steps are written: strokes and parts, a line each.

A picture is 320 by 130. In a file each begins with its name, then ``for`` and the ids of its
steps ("family:id" where one family's differs), then ``says`` and the words below it, then its
strokes; an empty line ends it. A line of strokes is one of

- ``e M0 0h9`` a path of a class: ``e`` enamel with an ink edge, ``l`` a line of ink, ``k``
  filled with ink, ``c`` copper, ``w`` a line of water, ``f`` water, ``x`` what is wrong,
  ``y`` what is right;
- ``e( 160 65 40`` a circle of that class, by centre and radius;
- ``@tap 160 65 1`` a part at a place, of a size; a negative size turns it over sideways;
- ``@machine 40 16`` the machine of the family that the picture is for.

The classes get their colours from the sheet of the page, so that a picture follows light,
dark and print. Right and wrong have a shape of their own, never a colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

WIDTH, HEIGHT = 320, 130
HERE = files("tubside.service.step_pictures")
SUBJECTS = (
    "water-in",
    "water-out",
    "doors-and-loads",
    "power-and-panel",
    "soap-and-dishes",
    "drying",
    "around",
)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture as it is written: the ids of its steps, its words, its lines of strokes."""

    steps: tuple[str, ...]
    caption: str
    lines: tuple[str, ...]


@cache
def drawings() -> Mapping[str, Drawing]:
    """Every picture by its name."""
    found: dict[str, Drawing] = {}
    for subject in SUBJECTS:
        for name, lines in _blocks(f"{subject}.txt"):
            steps = [line[4:] for line in lines if line.startswith("for ")]
            (caption,) = [line[5:] for line in lines if line.startswith("says ")]
            strokes = tuple(line for line in lines if not line.startswith(("for ", "says ")))
            found[name] = Drawing(tuple(" ".join(steps).split()), caption, strokes)
    return found


@cache
def parts() -> Mapping[str, tuple[str, ...]]:
    """Every part by its name: its lines of strokes, around its own origin."""
    return dict(_blocks("parts.txt"))


def _blocks(file: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    for block in (HERE / file).read_text("utf-8").split("\n\n"):
        name, *lines = block.strip().splitlines()
        yield name, tuple(lines)


def elements(lines: tuple[str, ...], machine: str = "cab") -> Iterator[str]:
    """Yield the elements that lines of strokes make.

    Parameters
    ----------
    lines
        The strokes.
    machine
        The part that stands for ``@machine``.

    Examples
    --------
    >>> list(elements(("e M0 0h9",)))
    ['<path class="d-e" d="M0 0h9"/>']
    >>> list(elements(("@drop 9 8 -2",)))[0][:41]
    '<g transform="translate(9 8) scale(-2 2)"'
    """
    for line in lines:
        kind, _, rest = line.partition(" ")
        if kind.startswith("@"):
            part = parts()[machine if kind == "@machine" else kind[1:]]
            x, y, *size = rest.split()
            scale = f" scale({float(size[0]):g} {abs(float(size[0])):g})" if size else ""
            inside = "".join(elements(part, machine))
            yield f'<g transform="translate({x} {y}){scale}">{inside}</g>'
        elif kind.endswith("("):
            x, y, radius = rest.split()
            yield f'<circle class="d-{kind[0]}" cx="{x}" cy="{y}" r="{radius}"/>'
        else:
            yield f'<path class="d-{kind}" d="{rest}"/>'
