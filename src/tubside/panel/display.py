"""What is read on a display: the texts that can be told, and rows of P(said | shown)."""

from __future__ import annotations

import numpy as np

from tubside.panel.misreading import Floats, MisreadRates
from tubside.panel.schema import Panel


def plain(text: str) -> str:
    """A text without what people leave out or add: spaces, case, a hyphen.

    >>> plain("e 1-8"), plain(" ")
    ('E18', '')
    """
    return "".join(ch for ch in text.upper() if ch not in " -.:\t")


def texts_of(panel: Panel) -> tuple[str, ...]:
    """Every text that an indication puts on the display, plain and each once."""
    told = (plain(shown.display) for shown in panel.indications.values() if shown.display)
    return tuple(dict.fromkeys(told))


def display_row(shown: str | None, panel: Panel, rates: MisreadRates) -> Floats:
    """P(said | shown) over :func:`texts_of` and, last, any other text or none; sums to one.

    Where the file says nothing of the display (None), anything may stand there.
    """
    texts = texts_of(panel)
    if shown is None or plain(shown) not in texts:
        return np.full(len(texts) + 1, 1 / (len(texts) + 1))
    row = np.full(len(texts) + 1, rates.display_wrong / len(texts))
    row[texts.index(plain(shown))] = 1 - rates.display_wrong
    return row


def place_of(said: str, panel: Panel) -> int:
    """Where a text that was told stands in the row."""
    texts = texts_of(panel)
    return texts.index(plain(said)) if plain(said) in texts else len(texts)
