"""Whether an article fits a machine: the shop's own word, else the sheet of the model."""

from __future__ import annotations

from collections.abc import Sequence

from tubside.panel.fits import fits_of
from tubside.panel.schema import Fit, Panel
from tubside.panel.serials import within
from tubside.service.parts.articles import FIT_CHANCE, UNKNOWN_FIT
from tubside.store.parts import FitRow


def fit_chance(
    rows: Sequence[FitRow],
    panel: Panel | None,
    family: str,
    what: tuple[str, str],
    serial: str | None = None,
) -> float:
    """Chance that an article fits, 0 to 1.

    What the shop said of the model goes before the sheet, that before what it said of the
    family. A sheet that names other articles of the kind, and not this one, makes it unsure;
    one that names it for other serial numbers alone says that it does not fit.

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
    serial
        Serial number of the machine; None where nobody has read it.

    Examples
    --------
    >>> fit_chance([], None, "front_load", ("DP-1", "drain-pump"))
    0.7
    """
    said = {row.model: row.sure for row in rows}
    if panel is not None and panel.model in said:
        return FIT_CHANCE[said[panel.model]]
    of_sheet = _of_sheet(panel, *what, serial)
    if of_sheet is not None:
        return of_sheet
    return FIT_CHANCE[said[family]] if family in said else UNKNOWN_FIT


def _of_sheet(panel: Panel | None, number: str, kind: str, serial: str | None) -> float | None:
    """What the sheet says of the article; None where it names none of the kind."""
    fits = [] if panel is None else [fit for fit in panel.fits if fit.part == kind]
    if not fits:
        return None
    told = {one.article: one.sure for one in fits_of(panel, kind, serial).articles}
    if number in told:
        return FIT_CHANCE["sure" if told[number] == "certain" else "likely"]
    named = [fit for fit in fits if fit.article == number]
    if named and serial and all(_excludes(fit, serial) for fit in named):
        return FIT_CHANCE["no"]
    return FIT_CHANCE["unsure"]


def _excludes(fit: Fit, serial: str) -> bool:
    """Whether a fit that is known from more than hearsay is for other serial numbers."""
    outside = within(serial, fit.serial_from, fit.serial_to) is False
    return outside and fit.known_from != "hearsay"
