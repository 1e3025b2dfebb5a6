"""Whether a pack can be true with a layer on it, and which change makes it wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tubside.errors import LayerFileError, Problem
from tubside.pack.layer.applying import applied
from tubside.pack.layer.reading import Layer
from tubside.pack.layer.schema import Change, LayerFile
from tubside.pack.reading import PackSource

Rules = Callable[[PackSource], Iterable[Problem]]
"""Gives what is wrong in a pack as written; nothing when it can be used."""


def judged(shipped: PackSource, layer: Layer, rules: Rules) -> PackSource:
    """The pack with the layer on it, once it passes the rules.

    Raises
    ------
    LayerFileError
        With every problem. Each stands at its line of the layer or of the pack and names
        the change it lies in; where none lies in the layer, the first one names the change
        with which the trouble begins.
    """
    try:
        source = applied(shipped, layer)
        found = list(rules(source))
    except LayerFileError as wrong:
        found = list(wrong.problems)
    if not found:
        return source
    file = layer.document.place(()).file
    told = [_named(layer, problem) if problem.file == file else problem for problem in found]
    if all(problem.file != file for problem in found):
        told.insert(0, _culprit(shipped, layer, rules))
    raise LayerFileError(list(dict.fromkeys(told)))


def _named(layer: Layer, problem: Problem) -> Problem:
    """A problem in the layer's file, told with the change it lies in."""
    starts = [layer.document.place(("changes", at)).line for at in range(len(layer.changes))]
    inside = [c for c, line in zip(layer.changes, starts, strict=True) if line <= problem.line]
    if not inside:
        return problem
    return Problem(problem.file, problem.line, f"{_call(inside[-1])}: {problem.what}", problem.mend)


def _culprit(shipped: PackSource, layer: Layer, rules: Rules) -> Problem:
    """The change with which trouble begins, found by halving."""
    file = layer.document.place(()).file
    wrong = len(layer.changes)
    fine = wrong - 1  # mostly it is the change that is being made
    if wrong == 0 or _is_wrong(shipped, _first(layer, fine), rules):
        fine, wrong = 0, fine
        if _is_wrong(shipped, _first(layer, 0), rules):
            what = "the pack is wrong also without any change of the shop's"
            return Problem(file, 1, what, "mend the pack, by tubside pack check")
    while wrong - fine > 1:
        middle = (fine + wrong) // 2
        if _is_wrong(shipped, _first(layer, middle), rules):
            wrong = middle
        else:
            fine = middle
    line = layer.document.place(("changes", wrong - 1)).line
    what = f"{_call(layer.changes[wrong - 1])} leaves the pack wrong, as told below"
    return Problem(file, line, what, "mend that change, or take it back")


def _first(layer: Layer, count: int) -> Layer:
    """The layer with its first changes alone."""
    return Layer(
        LayerFile(family=layer.family, changes=list(layer.changes[:count])), layer.document
    )


def _is_wrong(shipped: PackSource, layer: Layer, rules: Rules) -> bool:
    try:
        return any(True for _ in rules(applied(shipped, layer)))
    except LayerFileError:
        return True


def _call(change: Change) -> str:
    what = change.edits[0].what + (" and more" if len(change.edits) > 1 else "")
    return f"change {change.id} by {change.who} ({what})"
