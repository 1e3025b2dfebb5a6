"""What the jobs say of a family's numbers, with what the office decided about each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from tubside.errors import NotThereError, TubsideError
from tubside.learning.consequences import Consequence, ShareMoved, consequences
from tubside.learning.counts import Counts
from tubside.learning.history import MILLION, ClosedJob
from tubside.learning.proposal import Part, Proposal, Whose
from tubside.learning.proposing import proposals
from tubside.learning.rates import Rates, rates
from tubside.pack.home import pack_folder
from tubside.pack.layer.editing import Signed
from tubside.pack.layer.reading import standing
from tubside.pack.layer.targets import Target, same
from tubside.pack.layer.writing import value_text
from tubside.pack.reading import PackSource, read_pack
from tubside.service.learning.decisions import Decision, forget
from tubside.service.learning.history import OWN_SHOP
from tubside.service.learning.remembered import remembered
from tubside.service.learning.words import spoken_part
from tubside.service.library import Library
from tubside.service.shop_layer import ShopLayers, Tried
from tubside.store.opening import Store
from tubside.strict_yaml import Tree
from tubside.strict_yaml.declared import number

State = Literal["open", "taken", "left", "pinned"]
MOST_MOVED = 4
"""So many shares that move are told of one proposal."""
LEAST_MOVED = 0.005
LEAST_STEP = 0.01
"""A share of a row that moves by less is not worth a word."""
NOTHING_SAID: Mapping[str, Decision] = {}


@dataclass(frozen=True, slots=True)
class Offer:
    """One proposal, and what became of it: offered, taken over, left, or pinned as it is."""

    proposal: Proposal
    state: State
    decision: Decision | None = None
    own: str = ""
    """What a change of the shop's own says at its place, if one does."""

    @property
    def moves(self) -> bool:
        """Whether the jobs say something else than the pack, and enough to be worth a look."""
        spoken = spoken_part(self.proposal)
        small = self.proposal.what in {"reported", "outcomes"} and (
            abs(spoken.learned - spoken.pack) < LEAST_STEP
        )
        return self.proposal.verdict == "moves" and spoken.surprises and not small


@dataclass(frozen=True, slots=True)
class FamilyLearned:
    """All that jobs say of one family; ``source`` is the pack with the shop's layer."""

    family: str
    source: PackSource
    jobs: int
    doubtful: int
    """Of these jobs: with a cause that nobody made sure."""
    offers: tuple[Offer, ...]
    rates: tuple[Rates, ...] = ()
    """How often jobs of each cause are cleared without a visit, and are returns."""

    def offer(self, name: str) -> Offer:
        """One by its id; NotThereError when there is none, as jobs may have changed."""
        for offer in self.offers:
            if offer.proposal.id == name:
                return offer
        msg = "the jobs say nothing of this number any more; look at the list again"
        raise NotThereError(msg)


def job_rows(store: Store, library: Library) -> tuple[ClosedJob, ...]:
    """Every job that is learned from: the shop's own, and those brought in from old lists."""
    return remembered(store, library).jobs


def job_counts(store: Store, library: Library) -> Counts:
    """What all these jobs add up to."""
    return remembered(store, library).counts


def learned(
    family: str,
    counts: Counts,
    layers: ShopLayers | None = None,
    said: Mapping[str, Decision] = NOTHING_SAID,
) -> FamilyLearned:
    """What jobs say of a family's pack as it was shipped, beside what the shop decided.

    Proposals are made on the shipped pack with all jobs, so that what was taken over
    already is not counted twice. Without ``layers`` they are of all shops in the rows.

    Raises
    ------
    UnknownNameError
        When there is no pack for the family.
    """
    shipped = read_pack(pack_folder(family)) if layers is None else layers.shipped(family)
    whose = Whose(family, "" if layers is None else OWN_SHOP)
    own = {} if layers is None else _own(layers, family)
    found = proposals(counts, shipped.pack, whose)
    source = shipped if layers is None else _current(layers, family, shipped)
    jobs, doubtful = _jobs(counts, family, "jobs"), _jobs(counts, family, "unsure")
    offers = tuple(_offer(it, own, said) for it in found)
    return FamilyLearned(family, source, jobs, doubtful, offers, rates(counts, shipped.pack, whose))


def tried(layers: ShopLayers, family: str, proposal: Proposal, by: Signed) -> Tried:
    """What taking a proposal over would make of the pack; refused as any change is.

    Raises
    ------
    LayerError, LayerFileError
        What the pack's rules find wrong.
    """
    return layers.tried(family, list(proposal.edits), by)  # type: ignore[arg-type]  # texts, rows and records of texts are trees


def take_over(
    store: Store, layers: ShopLayers, family: str, proposal: Proposal, by: Signed
) -> None:
    """Write a proposal into the shop's layer as a change with its reason.

    Raises
    ------
    LayerError, LayerFileError
        What the pack's rules find wrong; then nothing is changed.
    """
    layers.change(family, list(proposal.edits), by)  # type: ignore[arg-type]  # as above
    forget(store, family, proposal.id)


def moved(source: PackSource, proposal: Proposal) -> list[tuple[str, ShareMoved]]:
    """Complaint and the share of a cause that moves there, those that move most first."""
    if proposal.what not in {"weight", "reported"}:
        return []
    try:
        found = consequences(source, [proposal])
    except TubsideError:
        return []
    cause = proposal.target[1]
    mine = [(each.complaint, one) for each in found for one in each.origins if one.origin == cause]
    large = [pair for pair in mine if abs(pair[1].after - pair[1].before) >= LEAST_MOVED]
    return sorted(large, key=lambda it: -abs(it[1].after - it[1].before))[:MOST_MOVED]


def moved_together(of: FamilyLearned) -> tuple[Consequence, ...]:
    """Shares per complaint if everything that is offered and moves were taken over."""
    chosen = [it.proposal for it in of.offers if it.state == "open" and it.moves]
    return consequences(of.source, chosen) if chosen else ()


def _jobs(counts: Counts, family: str, what: str) -> int:
    found = (n for key, n in counts.by_key.items() if key.family == family and key.what == what)
    return sum(found) // MILLION


def _current(layers: ShopLayers, family: str, shipped: PackSource) -> PackSource:
    try:
        return layers.source(family)
    except TubsideError:
        return shipped


def _own(layers: ShopLayers, family: str) -> dict[Target, Tree | None]:
    """Places that the shop's changes speak of, and what they say."""
    try:
        return {edit.target: edit.now for edit in standing(layers.read(family))}
    except TubsideError:
        return {}


def _offer(
    proposal: Proposal, own: Mapping[Target, Tree | None], said: Mapping[str, Decision]
) -> Offer:
    now = [own.get(target) for target, _ in proposal.edits]
    words = "" if now[0] is None else value_text(now[0])
    decision = said.get(proposal.id)
    if decision is not None and decision.what == "pinned":
        return Offer(proposal, "pinned", decision, words)
    if all(one is not None for one in now) and _agrees(proposal, now):
        return Offer(proposal, "taken", None, words)
    if decision is not None and decision.holds(proposal):
        return Offer(proposal, "left", decision, words)
    return Offer(proposal, "open", None, words)


def _agrees(proposal: Proposal, now: Sequence[Tree | None]) -> bool:
    """Whether what stands in the shop's changes is offered just so, or lies in its intervals."""
    if all(same(one, value) for one, (_, value) in zip(now, proposal.edits, strict=True)):  # type: ignore[arg-type]  # as above
        return True
    first = now[0]
    if proposal.what == "price" or first is None:
        return False
    if isinstance(first, str):
        return _inside(proposal.parts, [number(first)])
    values = [first.get(part.name) for part in proposal.parts] if isinstance(first, dict) else first
    return _inside(proposal.parts, [number(x) if isinstance(x, str) else None for x in values])


def _inside(parts: Sequence[Part], values: Sequence[float | None]) -> bool:
    if len(parts) != len(values):
        return False
    pairs = zip(parts, values, strict=True)
    return all(value is not None and part.low <= value <= part.high for part, value in pairs)
