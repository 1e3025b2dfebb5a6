"""Colours and classes of the drawn map, light, dark and in print."""

from __future__ import annotations

from tubside.panel.palette import DARK as PANEL_DARK
from tubside.panel.palette import FACE
from tubside.panel.palette import LIGHT as PANEL_LIGHT

LIGHT = {
    "paper": "#E4EEF0",
    "land": PANEL_LIGHT["enamel-dim"],
    "plate": PANEL_LIGHT["enamel"],
    "edge": PANEL_LIGHT["edge"],
    "ink": PANEL_LIGHT["ink"],
    "quiet": PANEL_LIGHT["ink-2"],
    "copper": "#A8572A",
    "water": "#2F6F8F",
    "sign": "#1D4E68",
    "hair": "#C3CED0",
}
DARK = {
    "paper": "#12202A",
    "land": PANEL_DARK["enamel-dim"],
    "plate": PANEL_DARK["enamel"],
    "edge": PANEL_DARK["edge"],
    "ink": PANEL_DARK["ink"],
    "quiet": PANEL_DARK["ink-2"],
    "copper": "#C9794A",
    "water": "#8CC6DF",
    "sign": "#8FB8CC",
    "hair": "#34444C",
}
LINES = ("copper", "water", "sign", "ink")
DASHES = ("none", "11 6", "2 6", "14 5 2 5", "6 4", "18 6")


def map_rules(tokens: dict[str, str] | None = None) -> str:
    """Return the rules: with colours written out, or with a page's own ``tokens`` for them."""
    if tokens is not None:
        return _coloured(tokens) + _PLAIN
    return (
        f"{_coloured(LIGHT)}{_PLAIN}@media (prefers-color-scheme:dark){{{_coloured(DARK)}}}"
        f"@media print{{{_coloured(LIGHT)}.tm-paper,.tm-land{{fill:#fff}}}}"
    )


def line_class(k: int) -> str:
    """Return the classes of the k-th technician's line: a colour and a dash of its own."""
    return f"tm-line tm-{LINES[k % len(LINES)]} tm-dash{k % len(DASHES)}"


_PLAIN = (
    ".tm-line{fill:none;stroke-width:3.2;stroke-linecap:round;stroke-linejoin:round}"
    + "".join(
        f".tm-dash{k}{{stroke-dasharray:{dash}}}" for k, dash in enumerate(DASHES) if dash != "none"
    )
    + f".tm-say,.tm-no,.tm-quiet{{font-family:{FACE}}}"
    ".tm-no{font-weight:700;text-anchor:middle}.tm-end{text-anchor:end}.tm-mid{text-anchor:middle}"
    ".tm-say{paint-order:stroke;stroke-width:4;stroke-linejoin:round}"
    ".tm-mark{stroke-width:2}.tm-gone{stroke-dasharray:3 3}"
)


def _coloured(colour: dict[str, str]) -> str:
    return (
        f".tm-paper{{fill:{colour['paper']}}}.tm-land{{fill:{colour['land']}}}"
        f".tm-mark{{fill:{colour['plate']};stroke:{colour['edge']}}}"
        f".tm-yard{{fill:{colour['copper']};stroke:{colour['land']};stroke-width:2}}"
        f".tm-no{{fill:{colour['ink']}}}.tm-quiet{{fill:{colour['quiet']}}}"
        f".tm-say{{fill:{colour['ink']};stroke:{colour['land']}}}"
        f".tm-rule{{stroke:{colour['quiet']};stroke-width:1.4;fill:none}}"
        + "".join(f".tm-{name}{{stroke:{colour[name]}}}" for name in LINES)
        + "".join(f".tm-arrow-{name}{{fill:{colour[name]}}}" for name in LINES)
    )
