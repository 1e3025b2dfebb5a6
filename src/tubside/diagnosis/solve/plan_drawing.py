"""The plan as a drawing to read, unfold from the top and print: plates on copper pipes.

Read it from the top: a plate is what to do; the pipe that leaves it says what came of it.
How likely that is stands there as water in a small tub and as a number.
"""

from __future__ import annotations

from collections.abc import Sequence

from tubside.diagnosis.solve.plan_rows import MOST_ROWS, PlanRow, plan_rows
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.solution import Plan
from tubside.panel.markup import element, group, number, path, rectangle, text, words
from tubside.panel.palette import FACE

WIDTH, MARGIN = 820.0, 20.0
INDENT, TOP = 30.0, 92.0
LABEL, PLATE, SPACE = 23.0, 34.0, 7.0
TITLE, NAME, SMALL = 20.0, 16.0, 13.0
LETTER = 0.56
"""Width of a letter on average, by its size; no font is measured."""
DEEPEST = 12
"""Indents further than this are drawn as this."""

LIGHT = {
    "tile": "#E6EDED",
    "enamel": "#FBFAF6",
    "edge": "#64757C",
    "ink": "#1F2A30",
    "ink-2": "#4A5960",
    "copper": "#A8572A",
    "copper-ink": "#8A4520",
    "rim": "#1D4E68",
    "water": "#4E93B1",
    "water-top": "#2F6F8F",
}
DARK = {
    "tile": "#0F171B",
    "enamel": "#18232A",
    "edge": "#7F9299",
    "ink": "#EDF1EC",
    "ink-2": "#AFBDC1",
    "copper": "#C9794A",
    "copper-ink": "#E8A57A",
    "rim": "#4F8FAE",
    "water": "#3C84A5",
    "water-top": "#8CC6DF",
}
_RULES = f"""
text{{font-family:{FACE}}}
.tv-wall{{fill:@tile}}
.tv-plate{{fill:@enamel;stroke:@edge;stroke-width:1.4}}
.tv-first{{fill:@enamel;stroke:@rim;stroke-width:4}}
.tv-stop{{fill:@tile;stroke:@edge;stroke-width:1.4;stroke-dasharray:5 4}}
.tv-title{{fill:@ink;font-weight:700}}
.tv-name{{fill:@ink;font-weight:700}}
.tv-kind{{fill:@copper-ink;font-weight:700}}
.tv-say{{fill:@ink-2}}
.tv-cost{{fill:@ink-2;text-anchor:end}}
.tv-outcome{{fill:@ink;font-weight:700}}
.tv-pipe{{fill:none;stroke:@copper;stroke-width:3;stroke-linecap:round;stroke-linejoin:round}}
.tv-tub{{fill:none;stroke:@copper;stroke-width:1.6;stroke-linejoin:round}}
.tv-water{{fill:@water}}
.tv-top{{fill:none;stroke:@water-top;stroke-width:1.4}}
"""


def plan_svg(problem: Problem, plan: Plan | None, notes: Sequence[str] = ()) -> str:
    """Return the drawing of a plan, as SVG that stands alone.

    Parameters
    ----------
    problem : Problem
        Gives the title and the names.
    plan : Plan, optional
        None where nothing is to be done.
    notes : sequence of str
        Lines below the title: what the plan costs, and what is proven.

    Notes
    -----
    At most 24 rows are drawn, the likeliest first; what is left out is told where it is.
    """
    rows = [] if plan is None else plan_rows(problem, plan, MOST_ROWS)
    top = TOP + 20.0 * max(len(notes) - 1, 0)
    places, y = [], top
    for row in rows:
        places.append(y)
        y += _height(row) + SPACE
    title = problem.title or "The plan"
    drawn = [_pipe(rows, places, i) for i in range(1, len(rows))]
    drawn += [_row(row, place) for row, place in zip(rows, places, strict=True)]
    if not rows:
        drawn = [text(MARGIN, top, "Nothing is to be done.", NAME, "tv-name")]
        y = top + PLATE
    head = [text(MARGIN, 40.0, _cut(title, TITLE, WIDTH - 2 * MARGIN), TITLE, "tv-title")]
    head += [text(MARGIN, 62.0 + 20.0 * i, note, SMALL, "tv-say") for i, note in enumerate(notes)]
    return _whole(title, rows, y + MARGIN, [*head, *drawn])


def _whole(title: str, rows: Sequence[PlanRow], height: float, parts: Sequence[str]) -> str:
    attributes: dict[str, str | float] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(WIDTH)} {number(height)}",
        "width": WIDTH,
        "height": height,
        "role": "img",
        "aria-label": f"{title}: a plan of {len(rows)} rows",
    }
    wall = rectangle((0.0, 0.0, WIDTH, height), 0.0, "tv-wall")
    return element("svg", attributes, element("style", {}, _rules()), wall, *parts) + "\n"


def _rules() -> str:
    light, dark = _coloured(LIGHT), _coloured(DARK)
    paper = _coloured({**LIGHT, "tile": "#FFFFFF", "enamel": "#FFFFFF"})
    return f"{light}@media screen and (prefers-color-scheme:dark){{{dark}}}@media print{{{paper}}}"


def _coloured(colours: dict[str, str]) -> str:
    rules = _RULES
    for token in sorted(colours, key=len, reverse=True):
        rules = rules.replace(f"@{token}", colours[token])
    return "".join(line.strip() for line in rules.splitlines())


def _height(row: PlanRow) -> float:
    return (LABEL if row.outcome else 0.0) + (PLATE if row.kind else 0.0)


def _left(row: PlanRow) -> float:
    return MARGIN + INDENT * min(row.indent, DEEPEST)


def _row(row: PlanRow, y: float) -> str:
    x = _left(row)
    label = _label(row, x, y) if row.outcome else ""
    if not row.kind:
        return label
    return group("tv-step", label, _plate(row, x, y + (LABEL if row.outcome else 0.0)))


def _label(row: PlanRow, x: float, y: float) -> str:
    """What came of the step above: words, and how likely, as a tub and a number."""
    room = WIDTH - MARGIN - x - 300.0
    said = [("tv-outcome", _cut(row.outcome, SMALL, room)), ("tv-say", percent(row.chance))]
    if not row.kind:
        said.append(("tv-say", "and that is the end"))
    reached = f"comes to this {percent(row.reached)}"
    return (
        _tub(x + 22.0, y + 3.0, row.chance)
        + _line(x + 48.0, y + 16.0, SMALL, said)
        + text(WIDTH - MARGIN - 14.0, y + 16.0, reached, SMALL, "tv-cost")
    )


def _line(x: float, y: float, size: float, said: Sequence[tuple[str, str]]) -> str:
    """Words of several classes one after the other, as wide as the font makes them."""
    spans = [
        element("tspan", {"class": css, "dx": 8.0 if place else 0.0}, words(part))
        for place, (css, part) in enumerate(said)
    ]
    return element("text", {"x": x, "y": y, "font-size": size}, *spans)


def _tub(x: float, y: float, chance: float) -> str:
    """A small tub; the height of the water is the chance."""
    level = y + 14.0 * (1.0 - chance)
    water = rectangle((x + 1.0, level, 16.0, 14.0 * chance), 0.0, "tv-water") if chance else ""
    top = path(f"M{number(x + 1)} {number(level)}h16", "tv-top") if chance else ""
    return water + top + path(f"M{number(x)} {number(y)}v14h18v-14", "tv-tub")


def _plate(row: PlanRow, x: float, y: float) -> str:
    css = "tv-first" if row.above < 0 else "tv-stop" if row.kind == "stop" else "tv-plate"
    wide = WIDTH - MARGIN - x
    told = "; ".join(_said(row))
    name = _cut(row.name, NAME, wide - 110.0 - LETTER * SMALL * len(told))
    whole = "" if name == row.name else element("title", {}, words(row.name))
    left = [("tv-kind", row.kind.capitalize()), ("tv-name", name)]
    return (
        element("g", {}, whole, rectangle((x, y, wide, PLATE), 10.0, css))
        + _line(x + 14.0, y + 22.5, NAME, left)
        + text(x + wide - 14.0, y + 22.0, told, SMALL, "tv-cost")
    )


def _said(row: PlanRow) -> list[str]:
    """What stands at the right of a plate."""
    if row.kind == "stop":
        return [figure(row.rest)]
    said = [f"works {percent(row.works)}"] if row.works > 0 else []
    if row.folded:
        steps = "one more step" if row.folded == 1 else f"{row.folded} more steps"
        said.append(f"{steps} not drawn")
    return [*said, f"about {figure(row.rest)} to the end"]


def _pipe(rows: Sequence[PlanRow], places: Sequence[float], i: int) -> str:
    """From the plate above down to this row."""
    row, above = rows[i], rows[rows[i].above]
    start = places[row.above] + (LABEL if above.outcome else 0.0) + PLATE
    x, y = _left(above) + 12.0, places[i] + 10.0
    end = _left(row) + (18.0 if row.indent != above.indent else 12.0)
    if end == x:
        stop = places[i] + LABEL
        return path(f"M{number(x)} {number(start)}V{number(stop)}", "tv-pipe")
    bend = f"M{number(x)} {number(start)}V{number(y - 6)}q0 6 6 6H{number(end)}"
    drop = f"M{number(_left(row) + 12)} {number(y)}V{number(places[i] + LABEL)}" if row.kind else ""
    return path(bend + drop, "tv-pipe")


def percent(chance: float) -> str:
    """A chance in plain figures; nothing that can come is called 0 %, nothing open 100 %."""
    if 0 < chance < 0.001:
        return "under 0.1 %"
    if 0 < chance < 0.0995:
        return f"{100 * chance:.1f} %"
    return f"{100 * chance:.0f} %" if chance == 1 or chance < 0.995 else "over 99 %"


def figure(cost: float) -> str:
    """A cost with as many figures as are worth reading."""
    return f"{cost:,.0f}" if abs(cost) >= 100 else f"{cost:.3g}"


def _cut(name: str, size: float, room: float) -> str:
    most = max(int(room / (LETTER * 1.08 * size)), 4)
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"
