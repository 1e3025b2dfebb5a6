"""What somebody wants changed, from what they typed or wrote in a file."""

from __future__ import annotations

from tubside.errors import LayerError, LayerFileError
from tubside.pack.layer.targets import Target, same, value_at
from tubside.strict_yaml import Document, Tree, read_text

FIELD_DEPTH = 3
"""Section, entry and field: what a field holds is replaced as a whole."""


def typed_value(text: str) -> Tree:
    """The value that a text writes: a list or a record in brackets, else the text itself.

    Raises
    ------
    LayerFileError
        When brackets are not closed, or hold what strict YAML refuses.

    Examples
    --------
    >>> typed_value("[0.9, 0.1]"), typed_value("clip: blue")
    (['0.9', '0.1'], 'clip: blue')
    """
    if not text.lstrip().startswith(("{", "[")):
        return text
    tree = read_text(f"value: {text}", "the value", LayerFileError).tree
    assert isinstance(tree, dict)
    return tree["value"]


def wishes_of(document: Document, pack: Tree) -> list[tuple[Target, Tree]]:
    """The changes in a file that is written like a pack's own; what says so already is left out.

    An entry that the pack does not have is added whole; of one that it has, each field that
    is written is changed.

    Raises
    ------
    LayerError
        When it changes nothing.
    """
    found = list(_below(document.tree, pack, ()))
    if not found:
        msg = "the file changes nothing; write it like a pack: section, id, fields"
        raise LayerError(msg)
    return found


def _below(tree: Tree, pack: Tree, target: Target) -> list[tuple[Target, Tree]]:
    there = value_at(pack, target)
    parted = len(target) < FIELD_DEPTH and (not target or there is not None)
    if parted and isinstance(tree, dict) and isinstance(there, dict):
        return [each for name in tree for each in _below(tree[name], pack, (*target, name))]
    return [] if same(tree, there) or not target else [(target, tree)]
