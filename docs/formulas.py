"""Formulas of the pages as MathML, which browsers draw themselves.

Sphinx would draw them with a script from a third-party host; these pages are read in
cellars without a network.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from docutils import nodes
from latex2mathml.converter import convert

if TYPE_CHECKING:
    from docutils.nodes import Element
    from sphinx.application import Sphinx
    from sphinx.writers.html5 import HTML5Translator


def in_line(writer: HTML5Translator, node: Element) -> None:
    """Write a formula within a sentence."""
    writer.body.append(convert(node.astext()))
    raise nodes.SkipNode


def by_itself(writer: HTML5Translator, node: Element) -> None:
    """Write a formula that stands on lines of its own; a wide one scrolls on a phone."""
    formula = convert(node.astext(), display="block")
    writer.body.append(f'<div class="formula" tabindex="0">{formula}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    """Name the two writers to Sphinx."""
    app.add_html_math_renderer("mathml", (in_line, None), (by_itself, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
