"""Which of the shop's articles fits a model: certain, possible, or unknown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from tubside.panel.schema import Fit, Panel
from tubside.panel.serials import within

Sure = Literal["certain", "possible", "unknown"]


@dataclass(frozen=True, slots=True)
class FittingArticle:
    """An article to take: how sure, why not more, and what it stands in for.

    ``instead_of`` are the articles that it supersedes, the oldest first.
    """

    article: str
    sure: Literal["certain", "possible"]
    why: str
    fit: Fit
    instead_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fitting:
    """What is known of one part kind in one machine; the surest article first.

    ``certain`` is said where one article fits for certain and no other is possible.
    """

    part: str
    sure: Sure
    articles: tuple[FittingArticle, ...] = ()


def fits_of(panel: Panel | None, part_kind: str, serial: str | None = None) -> Fitting:
    """Which articles of a part kind fit a machine of this model.

    Parameters
    ----------
    panel
        The model's file; None where no model is known.
    part_kind
        Of the pack, such as "drain-pump".
    serial
        Of the machine; None or blank where nobody has read it.

    Returns
    -------
    Fitting
        *certain* where the serial number lies in the range (or there is none) of just one
        article, known from more than hearsay; *possible* where the serial number is not
        known or cannot be compared, the fit is hearsay, or several articles would fit;
        *unknown* where nothing is told, or the serial number lies outside every range.
    """
    fits = [] if panel is None else [fit for fit in panel.fits if fit.part == part_kind]
    found: dict[str, FittingArticle] = {}
    for fit in fits:
        it = _fitting(fits, fit, (serial or "").strip())
        known = None if it is None else found.get(it.article)
        if it is not None and (known is None or _better(it, known)):
            found[it.article] = it
    articles = sorted(found.values(), key=lambda it: (it.sure != "certain", it.article))
    if not articles:
        return Fitting(part_kind, "unknown")
    alone = len(articles) == 1 and articles[0].sure == "certain"
    return Fitting(part_kind, "certain" if alone else "possible", tuple(articles))


def _better(one: FittingArticle, other: FittingArticle) -> bool:
    """Whether to tell this way to an article and not the one known: surer, or more direct."""
    return (one.sure != "certain", len(one.instead_of)) < (
        other.sure != "certain",
        len(other.instead_of),
    )


def _fitting(fits: Sequence[Fit], fit: Fit, serial: str) -> FittingArticle | None:
    """What one fit says of a serial number; None where it says that the article does not fit."""
    bounded = fit.serial_from is not None or fit.serial_to is not None
    inside = within(serial, fit.serial_from, fit.serial_to) if serial and bounded else None
    if inside is False:
        return None
    doubts = []
    if bounded and not serial:
        doubts.append("the serial number is not known")
    elif bounded and inside is None:
        doubts.append("the serial number cannot be compared")
    if fit.known_from == "hearsay":
        doubts.append("told by others only")
    chain = chain_of(fits, fit.article)
    newest = [it for it in fits if it.article == chain[-1]]
    if len(chain) > 1 and serial and newest and _all_exclude(newest, serial):
        doubts.append(f"{chain[-1]} itself is told for other serial numbers")
    sure: Literal["certain", "possible"] = "possible" if doubts else "certain"
    return FittingArticle(chain[-1], sure, ", ".join(doubts), fit, tuple(chain[:-1]))


def _all_exclude(fits: Iterable[Fit], serial: str) -> bool:
    return all(within(serial, it.serial_from, it.serial_to) is False for it in fits)


def chain_of(fits: Iterable[Fit], article: str) -> list[str]:
    """An article and what supersedes it, one after the other; the last is the one to take."""
    after = {fit.article: fit.superseded_by for fit in fits if fit.superseded_by}
    chain = [article]
    while (following := after.get(chain[-1])) is not None and following not in chain:
        chain.append(following)
    return chain


def circle_of(fits: Sequence[Fit], start: Fit) -> list[str]:
    """The articles of a circle of supersession that leads back to ``start``; [] for none."""
    of_kind = [it for it in fits if it.part == start.part]
    after = {it.article: it.superseded_by for it in of_kind if it.superseded_by}
    chain = [start.article]
    while (following := after.get(chain[-1])) is not None:
        chain.append(following)
        if following == start.article:
            return chain
        if following in chain[:-1]:
            return []
    return []
