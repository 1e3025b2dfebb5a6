"""What a declared type wants: its shape, how its texts are read, how to say it."""

from __future__ import annotations

import math
import re
import types
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache
from typing import Annotated, Any, Literal, Union, cast, get_args, get_origin

import msgspec

from tubside.strict_yaml.document import Tree

NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
WHOLE = re.compile(r"[+-]?[0-9]{1,18}")
TRUTH = {"true": True, "yes": True, "false": False, "no": False}
LISTS: dict[object, Callable[[list[object]], object]] = {
    list: list,
    tuple: tuple,
    Sequence: tuple,
    set: set,
    frozenset: frozenset,
}


class Shape(Enum):
    """How a declared type is walked."""

    ANYTHING = auto()
    BOUNDED = auto()
    UNION = auto()
    LITERAL = auto()
    SCALAR = auto()
    STRUCT = auto()
    LIST = auto()
    MAPPING = auto()
    LEAF = auto()


@dataclass(frozen=True, slots=True)
class Scalar:
    """How one type of text is called, mended and read (None: it is not such a text)."""

    wanted: str
    mend: str
    read: Callable[[str], object]


def number(text: str) -> float | None:
    """Return the finite number that ``text`` writes with digits, or None."""
    value = float(text) if NUMBER.fullmatch(text) else math.nan
    return value if math.isfinite(value) else None


def whole(text: str) -> int | None:
    """Return the whole number that ``text`` writes with at most 18 digits, or None."""
    return int(text) if WHOLE.fullmatch(text) else None


SCALARS: dict[object, Scalar] = {
    str: Scalar("a text", "write one text", str),
    float: Scalar("a number", "write digits, a decimal point and no unit, e.g. 0.25", number),
    int: Scalar("a whole number", "write digits only, e.g. 12", whole),
    bool: Scalar("true or false", "write true or false", lambda text: TRUTH.get(text.lower())),
}

BY_ORIGIN: dict[object, Shape] = {
    Annotated: Shape.BOUNDED,
    Union: Shape.UNION,
    types.UnionType: Shape.UNION,
    Literal: Shape.LITERAL,
    Any: Shape.ANYTHING,
    object: Shape.ANYTHING,
    dict: Shape.MAPPING,
    **dict.fromkeys(SCALARS, Shape.SCALAR),
    **dict.fromkeys(LISTS, Shape.LIST),
}


@cache
def shape(kind: object) -> Shape:
    """Return how ``kind`` is walked."""
    origin = get_origin(kind) or kind
    if isinstance(origin, type) and issubclass(origin, msgspec.Struct):
        return Shape.STRUCT
    return BY_ORIGIN.get(origin, Shape.LEAF)


def fits(tree: Tree, kind: object) -> bool:
    """Tell whether a text, list or mapping can be a ``kind`` at all."""
    bare = _bare(kind)
    if shape(bare) is Shape.ANYTHING:
        return True
    if isinstance(tree, dict):
        return shape(bare) in (Shape.STRUCT, Shape.MAPPING)
    if isinstance(tree, list):
        return shape(bare) is Shape.LIST
    return shape(bare) in (Shape.SCALAR, Shape.LITERAL, Shape.LEAF)


def wanted(kind: object) -> str:
    """Return in words what ``kind`` wants."""
    bare = _bare(kind)
    if bare in SCALARS:
        return SCALARS[bare].wanted
    if shape(bare) is Shape.STRUCT:
        required = [name for name, field in fields(bare).items() if field.required]
        return "'key: value' pairs" + (f" with {', '.join(required)}" if required else "")
    return {Shape.MAPPING: "'key: value' pairs", Shape.LIST: "a [list]"}.get(shape(bare), "a value")


def struct(kind: object) -> type[msgspec.Struct]:
    """Return ``kind``, known to be a struct."""
    return cast("type[msgspec.Struct]", get_origin(kind) or kind)


@cache
def fields(kind: object) -> dict[str, msgspec.structs.FieldInfo]:
    """Return the fields of a struct by the key that a file writes."""
    return {field.encode_name: field for field in msgspec.structs.fields(struct(kind))}


def tag_field(kind: object) -> str | None:
    """Return the key that tells which struct of a union is meant, if structs have one."""
    return struct(kind).__struct_config__.tag_field if shape(kind) is Shape.STRUCT else None


def tags(kinds: Sequence[object]) -> dict[str, object]:
    """Return the structs of a union by the value of their tag."""
    return {str(struct(kind).__struct_config__.tag): kind for kind in kinds}


def item_kinds(kind: object, length: int) -> Sequence[object]:
    """Return the declared type of each of ``length`` items (a tuple may want another number)."""
    kinds = get_args(kind) or (object,)
    fixed = (get_origin(kind) or kind) is tuple and len(kinds) > 1 and kinds[-1] is not Ellipsis
    is_single = get_origin(kind) is tuple and len(kinds) == 1
    return kinds if fixed or is_single else (kinds[0],) * length


def collected(kind: object, items: list[object]) -> object:
    """Return the items as the list, tuple or set that ``kind`` is."""
    return LISTS[get_origin(kind) or kind](items)


def _bare(kind: object) -> object:
    while get_origin(kind) is Annotated:
        kind = get_args(kind)[0]
    return kind
