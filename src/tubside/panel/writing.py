"""A panel back to the file that people read and edit; reading it gives the same panel."""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from tubside.panel.schema import Panel, Record

PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_-]*( [A-Za-z0-9_-]+)*")
"""Words that stand without quotes and are nothing else in YAML."""
SURE_WORDS = "sure (which is meant when it is left out), likely or unsure"

REMARKS: Mapping[str, str] = {
    "model": "The id is made from the name; the file is named after it.",
    "plate": "What the type plate settles: how it is built, and its load.",
    "sources": "Where the indications are known from: one mark for each source.",
    "drawing": "The front that people see. Places are in mm from the top left of the front.",
    "lamps": "Each lamp by its id, with the words beside it and its place.",
    "sounds": "The sounds it can make.",
    "indications": (
        "What it shows, in the order in which the controller looks. Lamps not named are off.\n"
        f"# How sure the meaning is: {SURE_WORDS}."
    ),
    "machine": "Where the machine differs from its family.",
    "controller": "Where its controller differs from its family.",
    "sheet": "What its type plate and service sheet say, each with where it is from.",
    "fits": "Which articles of the shop fit, and for which serial numbers.",
}
"""Section -> what its comment says."""
ESCAPES = {'"': '\\"', "\\": "\\\\"}


def panel_text(panel: Panel) -> str:
    """The YAML file of a panel, with a comment for each of its parts."""
    lines = [f"# The panel of one model: {_one_line(panel.name)}"]
    for name, value in _given(panel).items():
        if name in REMARKS:
            lines += ["", f"# {REMARKS[name]}"]
        lines += _section(name, value)
    return "\n".join(lines) + "\n"


def _section(name: str, value: object) -> list[str]:
    """One part: small things in one line, a map or the drawing with a line for each entry."""
    if name == "drawing":
        return _drawing(value)
    if name == "fits" and isinstance(value, list):
        return ["fits:", *(f"  - {_flow(fit)}" for fit in value)]
    if isinstance(value, dict) and value:
        lines = [f"{name}:"]
        for key, entry in value.items():
            if name == "indications":
                lines.append(f"  {_scalar(key)}:")
                lines += [f"    {each}: {_flow(it)}" for each, it in _given(entry).items()]
            else:
                lines.append(f"  {_scalar(key)}: {_flow(entry)}")
        return lines
    return [f"{name}: {_flow(value)}"]


def _drawing(value: object) -> list[str]:
    given = _given(value)
    shapes = given["shapes"]
    lines = ["drawing:", f"  front: {_flow(given['front'])}"]
    if not isinstance(shapes, list) or not shapes:
        return [*lines, "  shapes: []"]
    return [*lines, "  shapes:", *(f"    - {_flow(shape)}" for shape in shapes)]


def _given(record: object) -> dict[str, object]:
    """The fields of a record that are not as they would be if left out, its tag first."""
    assert isinstance(record, Record)
    config = record.__struct_config__
    found: dict[str, object] = {}
    if config.tag_field is not None:
        found[config.tag_field] = config.tag
    for field in msgspec.structs.fields(record):
        value = getattr(record, field.name)
        if field.required or value != _default(field):
            found[field.encode_name] = value
    return found


def _default(field: msgspec.structs.FieldInfo) -> object:
    if field.default is not msgspec.NODEFAULT:
        return field.default
    factory = field.default_factory
    return factory() if callable(factory) else msgspec.NODEFAULT


def _flow(value: object) -> str:
    if isinstance(value, Record):
        return _flow(_given(value))
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_scalar(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    return _scalar(value)


def _scalar(value: object) -> str:
    if isinstance(value, int | float):
        return f"{value:g}" if float(f"{value:g}") == value else repr(float(value))
    text = str(value)
    return text if PLAIN.fullmatch(text) else f'"{"".join(_escaped(ch) for ch in text)}"'


def _escaped(character: str) -> str:
    if character in ESCAPES:
        return ESCAPES[character]
    if character.isprintable():
        return character
    return f"\\U{ord(character):08X}"


def _one_line(text: str) -> str:
    return "".join(ch if ch.isprintable() else " " for ch in text)
