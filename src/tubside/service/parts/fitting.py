"""Whether an article fits a machine: the shop's own word, else the sheet of the model."""

from __future__ import annotations

from collections.abc import Sequence

from tubside.panel.fits import fits_of
from tubside.panel.schema import Panel
from tubside.service.parts.articles import FIT_CHANCE, UNKNOWN_FIT
from tubside.store.parts import FitRow


def fit_chance(
    rows: Sequence[FitRow], panel: Panel | None, family: str, what: tuple[str, str]
) -> float:
    """Chance that an article fits, 0 to 1.

    What the shop said of the model goes before the sheet, that before what it said of the
    family. A sheet that names other articles of the kind, and not this one, makes it unsure.

    Parameters
    ----------
    rows
        What the shop said of this article, the latest last.
    panel
        The model's file; None where no model is known.
    family
        Id of the family.
    what
        The article's number, and the part kind.

    Examples
    --------
    >>> fit_chance([], None, "front_load", ("DP-1", "drain-pump"))
    0.7
    """
    said = {row.model: row.sure for row in rows}
    if panel is not None and panel.model in said:
        return FIT_CHANCE[said[panel.model]]
    of_sheet = _of_sheet(panel, *what)
    if of_sheet is not None:
        return of_sheet
    return FIT_CHANCE[said[family]] if family in said else UNKNOWN_FIT


def _of_sheet(panel: Panel | None, number: str, kind: str) -> float | None:
    """What the sheet says of the article; None where it names none of the kind."""
    articles = fits_of(panel, kind).articles
    if not articles:
        return None
    told = {one.article: one.sure for one in articles}
    if number not in told:
        return FIT_CHANCE["unsure"]
    return FIT_CHANCE["sure" if told[number] == "certain" else "likely"]
