"""Places of a pack by ids, and what stands there: ``causes / worn-pump / weight``."""

from __future__ import annotations

from collections.abc import Sequence

from tubside.errors import LayerError
from tubside.strict_yaml import Tree
from tubside.strict_yaml.declared import number

Target = tuple[str, ...]
JOINT = "/"
DEEPEST = 12
LONGEST = 300
FIXED = "family"
"""The one field of a pack that no shop changes: a layer belongs to it."""


def target_of(text: str) -> Target:
    """The place that a text names.

    Raises
    ------
    LayerError
        When a part is empty or it names the family itself.

    Examples
    --------
    >>> target_of("causes / worn-pump / weight")
    ('causes', 'worn-pump', 'weight')
    """
    parts = tuple(part.strip() for part in text.split(JOINT))
    if not all(parts) or len(parts) > DEEPEST or len(text) > LONGEST:
        msg = f"{text!a:.60} is no place of a pack; write ids like causes / worn-pump / weight"
        raise LayerError(msg)
    if parts[0] == FIXED:
        msg = "the family is not to be changed; a layer belongs to it"
        raise LayerError(msg)
    return parts


def told(target: Sequence[str]) -> str:
    """The place as it is written."""
    return f" {JOINT} ".join(target)


def overlap(one: Target, other: Target) -> bool:
    """Whether one of two places is, or lies within, the other.

    Examples
    --------
    >>> overlap(("causes", "a"), ("causes", "a", "weight"))
    True
    >>> overlap(("causes", "a", "title"), ("causes", "a", "weight"))
    False
    """
    length = min(len(one), len(other))
    return one[:length] == other[:length]


def value_at(tree: Tree, target: Target) -> Tree | None:
    """What stands at a place; None when nothing does."""
    here: Tree | None = tree
    for part in target:
        if not isinstance(here, dict):
            return None
        here = here.get(part)
    return here


def holder_is_there(tree: Tree, target: Target) -> bool:
    """Whether there is a record that can hold the last part of a place."""
    return isinstance(value_at(tree, target[:-1]), dict)


def with_value(tree: Tree, target: Target, value: Tree | None) -> Tree:
    """The tree with another value at a place, None for none; what it shares is not copied.

    The holder of the place must be there. An entry keeps its position; a new one is last.
    """
    if not target:
        assert value is not None
        return value
    assert isinstance(tree, dict)
    first, rest = target[0], target[1:]
    changed = dict(tree)
    if not rest and value is None:
        changed.pop(first, None)
    else:
        changed[first] = with_value(tree.get(first, {}), rest, value)
    return changed


def same(one: Tree | None, other: Tree | None) -> bool:
    """Whether two values say the same: numbers by value, records in any order.

    Examples
    --------
    >>> same("0.50", "0.5"), same({"a": "1", "b": "2"}, {"b": "2", "a": "1.0"})
    (True, True)
    >>> same("0.5", None), same(["1", "2"], ["2", "1"])
    (False, False)
    """
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, str) and isinstance(other, str):
        value = number(one)
        return one == other or (value is not None and value == number(other))
    return one is None and other is None
