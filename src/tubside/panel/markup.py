"""SVG text from small pieces, with everything escaped on its way in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape

_UNSPEAKABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""Characters that no XML may hold, escaped or not (XML 1.0, production 2)."""

Attributes = Mapping[str, str | float]


def words(text: str) -> str:
    """``text`` as character data, safe in content and in quoted attributes."""
    return escape(_UNSPEAKABLE.sub("\N{REPLACEMENT CHARACTER}", text), quote=True)


def number(value: float) -> str:
    """A coordinate with a hundredth of a millimetre and no trailing noughts."""
    short = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if short == "-0" else short


def element(name: str, attributes: Attributes, *content: str) -> str:
    """One element; ``content`` is markup already, attribute values are escaped here."""
    given = "".join(f' {key}="{_value(value)}"' for key, value in attributes.items())
    inside = "".join(content)
    return f"<{name}{given}>{inside}</{name}>" if inside else f"<{name}{given}/>"


def group(css: str, *content: str) -> str:
    """A group of the class ``css``."""
    return element("g", {"class": css}, *content)


def text(x: float, y: float, content: str, size: float, css: str) -> str:
    """Words on a base line; the class says colour and which end is at x."""
    return element("text", {"class": css, "x": x, "y": y, "font-size": size}, words(content))


def circle(x: float, y: float, radius: float, css: str) -> str:
    """A circle about x and y."""
    return element("circle", {"class": css, "cx": x, "cy": y, "r": radius})


def rectangle(box: tuple[float, float, float, float], corner: float, css: str) -> str:
    """A rectangle of x, y, width and height with round corners."""
    x, y, width, height = box
    places = {"x": x, "y": y, "width": width, "height": height}
    return element("rect", {"class": css, **places, "rx": min(corner, width / 2, height / 2)})


def path(commands: str, css: str) -> str:
    """A path; ``commands`` come from numbers of ours, never from a file's words."""
    return element("path", {"class": css, "d": commands})


def _value(value: str | float) -> str:
    return words(value) if isinstance(value, str) else number(value)
