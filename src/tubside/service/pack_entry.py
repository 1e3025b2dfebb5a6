"""One entry of a pack as a form shows it, and the changes that a filled form asks for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import msgspec

from tubside.errors import LayerError
from tubside.pack import schema
from tubside.pack.field_words import FIELD_WORDS
from tubside.pack.layer.targets import Target, value_at
from tubside.pack.layer.wishes import typed_value
from tubside.pack.layer.writing import value_text
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree

Edits = list[tuple[Target, Tree | None]]
SECTIONS: dict[str, type[msgspec.Struct]] = {
    "causes": schema.Cause,
    "findings": schema.Finding,
    "checks": schema.Check,
    "remedies": schema.Remedy,
    "conditions": schema.Condition,
    "parts": schema.PartKind,
    "stops": schema.Stop,
    "cautions": schema.Caution,
    "covers": schema.Cover,
}
"""Sections whose entries a shop changes on a page, and may add to."""
ENTRY_ID = re.compile(r"[a-z][a-z0-9]*([-_][a-z0-9]+)*\Z")
LONGEST_ID = 60
OWN_SOURCE = "own-observation"
OWN_MARK: Tree = {"kind": "seen", "text": "the shop's own observation"}
LONG_TEXT = 60


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an entry: what it holds in words, its text, whether it must be there."""

    name: str
    words: str
    text: str
    required: bool

    @property
    def long(self) -> bool:
        """Whether it wants more than one line."""
        return len(self.text) > LONG_TEXT


@dataclass(frozen=True, slots=True)
class Found:
    """An entry that a search found."""

    section: str
    id: str
    title: str


def fields_of(source: PackSource, section: str, name: str) -> list[Field]:
    """Every field of an entry as it stands, those left out with an empty text.

    Raises
    ------
    LayerError
        When there is no such section or entry.
    """
    entry = value_at(source.document.tree, (need_section(section), name))
    if not isinstance(entry, dict):
        msg = f"there is no '{name}' among the {section}; look it up in the list"
        raise LayerError(msg)
    return [
        Field(field.name, field.words, _text(entry.get(field.name)), field.required)
        for field in blank(section)
    ]


def blank(section: str) -> list[Field]:
    """The fields of a new entry, those that must be there first."""
    kind = SECTIONS[need_section(section)]
    required = {f.encode_name: f.required for f in msgspec.structs.fields(kind)}
    found = [Field(name, words, "", required[name]) for name, words in FIELD_WORDS[section].items()]
    return sorted(found, key=lambda field: not field.required)


def need_section(section: str) -> str:
    """The section, if its entries can be changed on a page; else LayerError."""
    if section not in SECTIONS:
        msg = f"{section!a:.40} is no part of a pack that is changed here"
        raise LayerError(msg)
    return section


def search(source: PackSource, words: str, section: str = "") -> list[Found]:
    """Entries that hold every word in their id or title, by section and title."""
    wanted = words.lower().split()
    sections = [need_section(section)] if section else list(SECTIONS)
    found = []
    for each in sections:
        entries = value_at(source.document.tree, (each,))
        assert isinstance(entries, dict)
        for name in entries:
            title = title_of(source, each, name)
            if all(word in f"{name} {title}".lower() for word in wanted):
                found.append(Found(each, name, title))
    return sorted(found, key=lambda it: (list(SECTIONS).index(it.section), it.title.lower()))


def title_of(source: PackSource, section: str, name: str) -> str:
    """What people call an entry; its id where there is no such entry."""
    entry = value_at(source.document.tree, (section, name))
    told = entry if isinstance(entry, dict) else {}
    return str(told.get("title") or told.get("harm") or name)


def edit_of_field(section: str, name: str, field: str, text: str) -> Edits:
    """The change of one field; an empty text takes an optional field out.

    Raises
    ------
    LayerError
        When there is no such field, or an empty text is given for one that must be there.
    LayerFileError
        When brackets in the text are not closed.
    """
    known = {it.name: it for it in blank(section)}
    if field not in known:
        msg = f"entries of {section} have no field {field!a:.40}"
        raise LayerError(msg)
    if not text.strip():
        if known[field].required:
            msg = f"'{field}' must be there; write a value"
            raise LayerError(msg)
        return [((section, name, field), None)]
    return [((section, name, field), typed_value(text.strip()))]


def edits_of_new(
    source: PackSource, section: str, name: str, told: Mapping[str, str], beside: Mapping[str, str]
) -> Edits:
    """The changes that add an entry: itself, and for a cause what clears and what shows it.

    ``beside`` holds, for a cause, places such as ``remedies / fit-pump / clears`` and what
    is to stand there under the new id; empty texts are left out.

    Raises
    ------
    LayerError
        When the id is none or taken, or a field that must be there is empty.
    LayerFileError
        When brackets in a text are not closed.
    """
    need_section(section)
    if not ENTRY_ID.match(name) or len(name) > LONGEST_ID:
        msg = f"{name!a:.40} is no id; write small words joined by hyphens, like hose-kinked"
        raise LayerError(msg)
    if value_at(source.document.tree, (section, name)) is not None:
        msg = f"there is a '{name}' among the {section} already; change that one"
        raise LayerError(msg)
    entry: dict[str, Tree] = {}
    for field in blank(section):
        text = told.get(field.name, "").strip()
        if text:
            entry[field.name] = typed_value(text)
    edits: Edits = []
    if SECTIONS[section].__struct_fields__.count("source") and not entry.get("source"):
        entry["source"] = OWN_SOURCE
        if value_at(source.document.tree, ("sources", OWN_SOURCE)) is None:
            edits.append((("sources", OWN_SOURCE), OWN_MARK))
    missing = [f.name for f in blank(section) if f.required and f.name not in entry]
    if missing:
        msg = f"these must be there: {', '.join(missing)}"
        raise LayerError(msg)
    edits.append(((section, name), entry))
    for place, text in beside.items():
        if text.strip():
            target = tuple(part.strip() for part in place.split("/"))
            edits.append(((*target, name), typed_value(text.strip())))
    return edits


def _text(value: Tree | None) -> str:
    """A value as somebody would type it."""
    if value is None:
        return ""
    return value if isinstance(value, str) else value_text(value)
