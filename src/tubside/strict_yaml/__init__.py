"""Reading YAML so that nothing surprises.

Every scalar stays the text that was typed (``on``, ``NO``, ``12:30``, ``3.10``,
``~``); only the declared type of a field turns it into a number or a truth value.
Anchors, aliases, tags, merge keys, duplicate keys and second documents are
refused, and all problems of a file are told at once, each with its line.
"""

from __future__ import annotations

from tubside.strict_yaml.converting import convert
from tubside.strict_yaml.document import Document, Path, Place, Tree
from tubside.strict_yaml.merging import merge
from tubside.strict_yaml.reading import read_file, read_text
from tubside.strict_yaml.spelling import nearest, or_one_of

__all__ = [
    "Document",
    "Path",
    "Place",
    "Tree",
    "convert",
    "merge",
    "nearest",
    "or_one_of",
    "read_file",
    "read_text",
]
