"""What lies where: every part with its stock by place, price and fits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import msgspec
from sqlalchemy import Connection

from tubside.errors import NotThereError
from tubside.pack.schema import Pack
from tubside.service.job_file import JobFile
from tubside.service.parts.articles import Article, articles_in, offers_now
from tubside.service.parts.moving import ON_ORDER, VAN
from tubside.service.visits.settings import technician_settings
from tubside.store import parts as kept
from tubside.store.opening import Store
from tubside.store.parts import FitRow, MoveRow, OfferRow


@dataclass(frozen=True, slots=True)
class Shelved:
    """A part with what is held of it: place -> units, and its offers, the cheapest first."""

    article: Article
    held: dict[str, int]
    offers: tuple[OfferRow, ...]

    @property
    def in_hand(self) -> int:
        """Units on vans and in the workshop; a place below nought counts as it stands."""
        return sum(units for place, units in self.held.items() if place != ON_ORDER)

    @property
    def on_order(self) -> int:
        """Units on order."""
        return self.held.get(ON_ORDER, 0)

    @property
    def below(self) -> bool:
        """Whether the books hold fewer than nothing somewhere."""
        return any(units < 0 for units in self.held.values())


@dataclass(frozen=True, slots=True)
class OnePart:
    """All that is known of one part, its movements the latest first."""

    shelved: Shelved
    fits: tuple[FitRow, ...]
    moves: tuple[MoveRow, ...]
    past_offers: tuple[OfferRow, ...]


def shelf(store: Store) -> list[Shelved]:
    """Every part, by number."""
    with store.reading() as opened:
        return shelf_in(opened)


def shelf_in(opened: Connection) -> list[Shelved]:
    """Every part, read in a transaction."""
    offers = offers_now(kept.offers(opened))
    held: dict[str, dict[str, int]] = {}
    for (part, place), units in sorted(kept.stock(opened).items()):
        held.setdefault(part, {})[place] = units
    return [
        Shelved(one, held.get(one.number, {}), tuple(offers.get(one.number, [])))
        for one in articles_in(opened)
    ]


def one_part(store: Store, number: str) -> OnePart:
    """One part; NotThereError when there is none of this number."""
    with store.reading() as opened:
        found = [one for one in shelf_in(opened) if one.article.number == number]
        if not found:
            msg = f"there is no part {number!a}"
            raise NotThereError(msg)
        fits = {row.model: row for row in kept.fits(opened, number)}
        moves = tuple(reversed(kept.moves(opened, number)))
        return OnePart(found[0], tuple(fits.values()), moves, tuple(kept.offers(opened, number)))


def searched(parts: Iterable[Shelved], text: str) -> list[Shelved]:
    """Parts whose number, barcode, title, kinds or supplier's number hold every word.

    A text that is a number or a barcode as it stands finds that part alone.
    """
    listed, words = list(parts), text.casefold().split()
    whole = text.strip()
    exact = [p for p in listed if whole and whole in {p.article.number, p.article.barcode}]
    if exact:
        return exact
    return [one for one in listed if all(word in _text(one) for word in words)]


def _text(one: Shelved) -> str:
    article = one.article
    codes = [part for offer in one.offers for part in (offer.code, offer.supplier)]
    kinds = [kind.replace("-", " ").replace("_", " ") for kind in article.kinds]
    words = [article.number, article.barcode, article.title, *article.kinds, *kinds, *codes]
    return " ".join(words).casefold()


def lowest_first(parts: Iterable[Shelved], wanted: dict[str, int]) -> list[Shelved]:
    """Parts in the order of what they lack: below nought, then below what is to be held."""

    def lack(one: Shelved) -> tuple[bool, int, str]:
        short = wanted.get(one.article.number, 0) - one.in_hand
        return (not one.below, -max(short, 0), one.article.number)

    return sorted(parts, key=lack)


def vans(parts: Iterable[Shelved]) -> list[str]:
    """Vans that parts were ever booked on and still lie on, by name."""
    places = {place for one in parts for place in one.held}
    return sorted(place.removeprefix(VAN) for place in places if place.startswith(VAN))


Stocked = dict[str, bool]
"""family/part kind that the shop has articles of -> whether one lies on its van."""


def stocked_kinds(opened: Connection, who: str | None = None) -> Stocked:
    """What the van holds that goes to a job; nothing where nobody knows which one goes.

    ``who`` goes there, where the job names somebody: the van of that name counts. Otherwise
    it is the shop's one van; with several, or with one of somebody else's, the pack's word
    stays.
    """
    vans_held = {
        place.removeprefix(VAN) for _, place in kept.stock(opened) if place.startswith(VAN)
    }
    if who in vans_held:
        return van_kinds(opened, str(who))
    if len(vans_held) != 1:
        return {}
    (van,) = vans_held
    if who is not None and van in technician_settings(opened):
        return {}
    return van_kinds(opened, van)


def van_kinds(opened: Connection, van: str) -> Stocked:
    """What one van holds, by part kind."""
    found: Stocked = {}
    for one in shelf_in(opened):
        there = one.held.get(VAN + van, 0) > 0
        for kind in () if one.article.retired else one.article.kinds:
            found[kind] = found.get(kind, False) or there
    return found


def with_stock(job: JobFile, pack: Pack, stocked: Stocked) -> JobFile:
    """The job with what the van holds, against what the pack says of every van.

    What a fact says of this job's parts counts before what the books say.
    """
    said = {*job.aboard, *job.not_aboard}
    mine = {
        name: there
        for name in pack.parts
        if (there := stocked.get(f"{pack.family}/{name}")) is not None and name not in said
    }
    if not mine:
        return job
    return msgspec.structs.replace(
        job,
        aboard=[*job.aboard, *(name for name, there in mine.items() if there)],
        not_aboard=[*job.not_aboard, *(name for name, there in mine.items() if not there)],
    )
