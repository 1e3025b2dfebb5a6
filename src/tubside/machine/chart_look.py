"""Colours and classes of a drawn cycle, light and dark; a drawing that stands alone."""

from __future__ import annotations

from tubside.panel.palette import DARK as PANEL_DARK
from tubside.panel.palette import FACE, standalone_rules
from tubside.panel.palette import LIGHT as PANEL_LIGHT

LIGHT = {
    "paper": PANEL_LIGHT["enamel"],
    "band": PANEL_LIGHT["enamel-dim"],
    "edge": PANEL_LIGHT["edge"],
    "ink": PANEL_LIGHT["ink"],
    "quiet": PANEL_LIGHT["ink-2"],
    "hair": "#C3CED0",
    "water": "#2F6F8F",
    "copper": "#A8572A",
    "sign": "#1D4E68",
    "on-sign": "#FBFAF6",
}
DARK = {
    "paper": PANEL_DARK["enamel"],
    "band": PANEL_DARK["enamel-dim"],
    "edge": PANEL_DARK["edge"],
    "ink": PANEL_DARK["ink"],
    "quiet": PANEL_DARK["ink-2"],
    "hair": "#34444C",
    "water": "#8CC6DF",
    "copper": "#C9794A",
    "sign": "#1F5470",
    "on-sign": "#FBFAF6",
}


def chart_rules() -> str:
    """The rules of a drawing that stands alone, the panel's own among them."""
    dark = _coloured(DARK)
    return (
        standalone_rules()
        + _coloured(LIGHT)
        + f".tc-say,.tc-quiet,.tc-sign-say,.tc-stop-say{{font-family:{FACE}}}"
        + ".tc-sign-say,.tc-stop-say{font-weight:700}"
        + ".tc-mid{text-anchor:middle}.tc-end{text-anchor:end}"
        + f"@media (prefers-color-scheme:dark){{{dark}}}"
    )


def _coloured(colour: dict[str, str]) -> str:
    """Rules with colours written out; curves differ by place and label, not by hue alone."""
    return (
        f".tc-paper{{fill:{colour['paper']}}}"
        f".tc-band{{fill:{colour['band']}}}"
        f".tc-hair{{stroke:{colour['hair']};stroke-width:1;fill:none}}"
        f".tc-axis{{stroke:{colour['edge']};stroke-width:1.2;fill:none}}"
        f".tc-water{{stroke:{colour['water']};stroke-width:2.2;fill:none;stroke-linejoin:round}}"
        f".tc-copper{{stroke:{colour['copper']};stroke-width:2.2;fill:none;stroke-linejoin:round}}"
        f".tc-limit{{stroke:{colour['ink']};stroke-width:1.2;fill:none;stroke-dasharray:5 4}}"
        f".tc-stop{{stroke:{colour['ink']};stroke-width:2.4;fill:none}}"
        f".tc-say{{fill:{colour['ink']}}}"
        f".tc-stop-say{{fill:{colour['ink']}}}"
        f".tc-quiet{{fill:{colour['quiet']}}}"
        f".tc-sign{{fill:{colour['sign']}}}"
        f".tc-sign-say{{fill:{colour['on-sign']}}}"
    )
