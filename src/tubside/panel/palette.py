"""Colours of the drawn panel, light and dark, and the rules of its classes.

The same rules serve two places. Inside a page they use the page's own colour tokens
(custom properties), so the drawing carries no style of its own and passes a strict
content policy. A drawing that stands alone carries them with the colours written out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

LIGHT: Mapping[str, str] = {
    "enamel": "#FBFAF6",
    "enamel-dim": "#EFF2F0",
    "edge": "#64757C",
    "ink": "#1F2A30",
    "ink-2": "#4A5960",
    "fascia": "#243138",
    "on-fascia": "#F3F5F1",
    "lamp": "#F4A81D",
    "lamp-rim": "#FFD88A",
    "lamp-off": "#52626A",
    "lamp-edge": "#A9B6BA",
}
DARK: Mapping[str, str] = {
    "enamel": "#18232A",
    "enamel-dim": "#202E36",
    "edge": "#7F9299",
    "ink": "#EDF1EC",
    "ink-2": "#AFBDC1",
    "fascia": "#0B1215",
    "on-fascia": "#EDF1EC",
    "lamp": "#FFB52E",
    "lamp-rim": "#FFDE9C",
    "lamp-off": "#3F4E55",
    "lamp-edge": "#93A2A7",
}

FACE = 'system-ui,-apple-system,"Segoe UI",Roboto,"Helvetica Neue",Arial,sans-serif'

_COLOURED = """
.tp-card,.tp-body{fill:{enamel-dim}}
.tp-body,.tp-plate,.tp-glass{stroke:{edge};stroke-width:1.8}
.tp-plate{fill:{enamel}}
.tp-glass{fill:{enamel-dim}}
.tp-fascia{fill:{fascia}}
.tp-line{stroke:{edge};stroke-width:2}
.tp-hair{stroke:{edge};stroke-width:1.1}
.tp-name{fill:{ink}}
.tp-label{fill:{on-fascia}}
.tp-state{fill:{on-fascia}}
.tp-tag{stroke:{lamp-edge};stroke-width:.8}
.tp-say{fill:{ink-2}}
.tp-ring{stroke:{lamp-edge};stroke-width:1.4}
.tp-dotted{stroke:{lamp-edge};stroke-width:1.4;stroke-dasharray:2 2.6}
.tp-off{fill:{lamp-off}}
.tp-on,.tp-half{fill:{lamp}}
.tp-core{fill:{lamp-rim}}
.tp-ray{stroke:{lamp}}
.tp-count{fill:{ink}}
.tp-gap{stroke:{ink-2};stroke-width:1.6;stroke-dasharray:2.4 3.2}
"""

_PLAIN = f"""
.tp-line,.tp-hair,.tp-tag,.tp-ring,.tp-dotted,.tp-ray,.tp-gap{{fill:none;stroke-linecap:round}}
.tp-name,.tp-label,.tp-state,.tp-say{{font-family:{FACE}}}
.tp-name,.tp-label{{font-weight:700;letter-spacing:.02em}}
.tp-state,.tp-say{{font-weight:400}}
.tp-mid{{text-anchor:middle}}
.tp-end{{text-anchor:end}}
.tp-half{{opacity:.5}}
.tp-ask{{font-weight:800}}
"""

_PAPER = """
.tp-around{fill:none;stroke:{on-fascia};stroke-width:2}
.tp-under{fill:none}
.tp-photo .tp-under{stroke:{fascia};stroke-width:4.5}
.tp-photo .tp-label,.tp-photo .tp-state{stroke:{fascia};stroke-width:3;paint-order:stroke}
.tp-photo .tp-tag{fill:{fascia}}
.tp-caption{fill:{ink};font-weight:700}
.tp-paper{fill:#FFFFFF}
"""
"""What only drawings that stand alone have: circles, photos, captions, paper."""

_STILL = """
@media (prefers-reduced-motion:reduce){.tp-moving{display:none}.tp-still{display:inline}}
.tp-held .tp-moving,body:has(.tp-hold:checked) .tp-moving{display:none}
.tp-held .tp-still,body:has(.tp-hold:checked) .tp-still{display:inline}
@media print{.tp-moving{display:none}.tp-still{display:inline}}
@media (forced-colors:active){.tp-on,.tp-half,.tp-core,.tp-ray{forced-color-adjust:none}}
"""


def standalone_rules() -> str:
    """The rules with both sets of colours written out, for a drawing that stands alone."""
    light = _tidy(_filled(LIGHT) + _PLAIN + _STILL + _filled(LIGHT, _PAPER))
    return f"{light}@media (prefers-color-scheme:dark){{{_tidy(_filled(DARK))}}}"


def paper_rules(face: str = FACE) -> str:
    """The rules in light colours alone, for paper and for pictures made of pixels."""
    return _tidy(_filled(LIGHT) + _PLAIN.replace(FACE, face) + _filled(LIGHT, _PAPER))


def page_rules() -> str:
    """The rules for a page's style sheet, whose tokens give the colours.

    A check box of the class ``tp-hold`` anywhere in the page holds the lamps still.
    """
    return _tidy(_filled({token: f"var(--{token})" for token in LIGHT}) + _PLAIN + _STILL)


def _filled(colours: Mapping[str, str], rules: str = _COLOURED) -> str:
    return re.sub(r"\{([a-z0-9-]+)\}", lambda found: colours[found[1]], rules)


def _tidy(rules: str) -> str:
    return "".join(line.strip() for line in rules.splitlines())
