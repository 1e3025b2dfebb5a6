"""A layer back to the file that people read; the same layer gives the same bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime

from tubside.pack.layer.schema import Change, Edit, Kept, LayerFile, TakenBack
from tubside.strict_yaml import Tree

WIDEST = 90
PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_./-]*( [A-Za-z0-9_./-]+)*")
"""Words and numbers that stand without quotes and are nothing else in YAML."""
ESCAPES = {'"': '\\"', "\\": "\\\\"}
HEAD = """\
# The shop's own changes on the pack of one family, the oldest first. Written by the
# program: your own remarks belong into 'why', those after a # are lost at the next change.
"""


def layer_text(layer: LayerFile) -> str:
    """The YAML file of a layer."""
    lines = [f"family: {_scalar(layer.family)}"]
    if not layer.changes:
        return HEAD + "\n".join([*lines, "changes: []"]) + "\n"
    lines.append("changes:")
    for change in layer.changes:
        lines += _change(change)
    return HEAD + "\n".join(lines) + "\n"


def _change(change: Change) -> Iterator[str]:
    yield f"  - id: {_scalar(change.id)}"
    yield f"    when: {moment(change.when)}"
    yield f"    who: {_scalar(change.who)}"
    yield f"    why: {_scalar(change.why)}"
    yield "    edits:" if change.edits else "    edits: []"
    for edit in change.edits:
        yield from _edit(edit)
    if change.kept:
        yield "    kept:"
    for kept in change.kept:
        yield from _kept(kept)
    if change.taken_back is not None:
        yield f"    taken_back: {{{_taken_back(change.taken_back)}}}"


def _taken_back(gone: TakenBack) -> str:
    told = f"who: {_scalar(gone.who)}, when: {moment(gone.when)}"
    return told if gone.why is None else f"{told}, why: {_scalar(gone.why)}"


def _edit(edit: Edit) -> Iterator[str]:
    yield f"      - what: {_scalar(edit.what)}"
    for name, value in (("was", edit.was), ("now", edit.now)):
        if value is not None:
            yield from _entry(name, value, 8)


def _kept(kept: Kept) -> Iterator[str]:
    yield f"      - what: {_scalar(kept.what)}"
    yield f"        who: {_scalar(kept.who)}"
    yield f"        when: {moment(kept.when)}"
    if kept.why is not None:
        yield f"        why: {_scalar(kept.why)}"
    if kept.ships is not None:
        yield from _entry("ships", kept.ships, 8)


def value_text(value: Tree) -> str:
    """A value in one line, as a layer writes it."""
    return _flow(value)


def moment(when: datetime) -> str:
    """A moment as a layer writes it, in UTC."""
    return when.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _entry(key: str, value: object, indent: int) -> Iterator[str]:
    """One key with its value: in one line where that fits, else a line for each part."""
    room, name = " " * indent, _scalar(key)
    flow = _flow(value)
    if isinstance(value, str) or not value or len(room) + len(name) + len(flow) + 2 <= WIDEST:
        yield f"{room}{name}: {flow}"
        return
    yield f"{room}{name}:"
    if isinstance(value, dict):
        for each, below in value.items():
            yield from _entry(each, below, indent + 2)
    else:
        assert isinstance(value, list)
        for below in value:
            yield f"{room}  - {_flow(below)}"


def _flow(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_scalar(key)}: {_flow(of)}" for key, of in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    return _scalar(str(value))


def _scalar(text: str) -> str:
    return text if PLAIN.fullmatch(text) else f'"{"".join(map(_escaped, text))}"'


def _escaped(character: str) -> str:
    if character in ESCAPES:
        return ESCAPES[character]
    if character.isprintable():
        return character
    return f"\\U{ord(character):08X}"
