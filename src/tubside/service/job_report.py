"""A job told to the customer in plain words, ready for paper or page.

Before and after are told by the first remedy that was done, where a photo does not say it
itself: what came earlier shows the trouble, what came later the mended machine.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime

from tubside.documents.job_report import JobReport, ReportPhoto, ReportReading
from tubside.documents.parties import DocumentMachine, Party
from tubside.errors import NotThereError
from tubside.pack.schema import Pack, Remedy
from tubside.service.attachments import read_photo
from tubside.service.coding import NOT_DONE
from tubside.service.heeded import heeded
from tubside.service.money.shop_party import shop_party
from tubside.service.part_records import PartUsed
from tubside.service.parts.shelf import one_part
from tubside.service.records import Closing, PhotoKept, ReadingDone, RemedyDone, Reported
from tubside.service.replay import counting
from tubside.service.returns import closed_job
from tubside.service.safety import SafetyView, safety_of
from tubside.service.unproven import closed_unproven
from tubside.service.views import Entry, JobView
from tubside.store.opening import Store

MOST_ADVICE, MOST_PHOTOS = 4, 8
UNTESTED = "The safety test after the repair is still missing. Do not use this machine."
PAID_BY = {
    "customer": "",
    "maker-warranty": "the maker, under its warranty",
    "insurer": "the insurer",
    "landlord": "the landlord",
    "recalled": "the maker, under a recall",
    "shop": "the shop, under its own warranty",
}
SHOWN: Mapping[str, str] = {
    "rating-plate": "the rating plate",
    "panel": "the panel",
    "machine": "the machine",
    "part": "a part",
    "other": "the work",
}


def job_report(store: Store, view: JobView, day: date) -> JobReport:
    """All that the customer is told of a job, as it stands.

    Raises
    ------
    NotThereError
        When the machine was not named yet.
    """
    if view.known is None:
        msg = "name the machine first; a report is about one"
        raise NotThereError(msg)
    pack, turned = view.known.pack, _first_remedy(view.entries)
    causes = () if view.closing is None else tuple(view.closing.causes)
    safety, released = safety_words(safety_of(store, view))
    if closed_unproven(store, view):
        safety, released = UNTESTED, False
    unsafe = released is False or (bool(view.dangers) and released is None)
    advised = [] if unsafe else _advised(pack, causes)
    authority = view.payer.words if view.payer is not None and view.payer.words else None
    return JobReport(
        job=view.id,
        dated=day,
        shop=shop_party(store),
        customer=_customer(view),
        machine=DocumentMachine(
            kind=pack.title, model=view.known.panel.name if view.known.panel else ""
        ),
        payer="" if view.payer is None else PAID_BY[view.payer.who],
        authority="" if authority is None else (view.words.get(authority) or ""),
        reported=_reported(view, pack),
        found=tuple(_cause(pack, cause) for cause in causes),
        done=tuple(dict.fromkeys(_done(view, pack))),
        parts=tuple(parts_used(store, view)),
        readings=tuple(_readings(view, pack, turned)),
        photos=tuple(_photos(store, view)),
        cautions=_cautions(pack, advised),
        heeded=tuple(dict.fromkeys(one.caution for one in heeded(view))),
        safety=safety,
        released=released,
        advice=tuple(str(remedy.say) for remedy in advised),
        warranty=_warranty(store, view),
    )


def _customer(view: JobView) -> Party:
    data = None if view.person is None else view.person.data
    return Party(name="") if data is None else Party(name=data.name, street=data.address)


def _reported(view: JobView, pack: Pack) -> str:
    said = [body.conditions for body in counting(view.entries) if isinstance(body, Reported)]
    names = dict.fromkeys(name for some in said for name in some if name in pack.conditions)
    return ", ".join(pack.conditions[name].title for name in names)


def _cause(pack: Pack, name: str) -> str:
    """A cause in the plain words of its pack."""
    if name in pack.causes:
        return pack.causes[name].plain or pack.causes[name].title
    return pack.healthy[name].title if name in pack.healthy else name


def _first_remedy(entries: Sequence[Entry]) -> datetime | None:
    done = (e.at for e in entries if e.retracted_by is None and _is_done(e.body))
    return min(done, default=None)


def _is_done(body: object) -> bool:
    return isinstance(body, RemedyDone) and body.outcome not in NOT_DONE


def _done(view: JobView, pack: Pack) -> Iterator[str]:
    for body in counting(view.entries):
        if isinstance(body, RemedyDone) and _is_done(body):
            title = pack.remedies[body.remedy].title if body.remedy in pack.remedies else ""
            how = "the machine then passed" if body.outcome == "works" else "this was not enough"
            yield f"{title or body.remedy}; {how}"


def parts_used(store: Store, view: JobView) -> Iterator[str]:
    """Each part that was fitted, with how many, in words."""
    for body in counting(view.entries):
        if isinstance(body, PartUsed):
            try:
                title = one_part(store, body.part).shelved.article.title
            except NotThereError:
                title = body.part
            yield f"{body.units} of {title}"


def _when(at: datetime, turned: datetime | None) -> str:
    return "before" if turned is None or at < turned else "after"


def _readings(view: JobView, pack: Pack, turned: datetime | None) -> Iterator[ReportReading]:
    for entry in view.entries:
        body = entry.body
        if isinstance(body, ReadingDone) and entry.retracted_by is None and not entry.doubtful:
            check = pack.checks.get(body.check)
            what = body.check if check is None else check.title
            yield ReportReading(what=what, value=body.said, when=_when(entry.at, turned))


def shown_photos(view: JobView) -> list[tuple[str, str, str]]:
    """Reference, what it shows, and before or after, of each photo that is still there."""
    turned, there = _first_remedy(view.entries), {n.ref for n in view.photos if n.media_type}
    return [
        (entry.body.ref, SHOWN[entry.body.of], entry.body.when or _when(entry.at, turned))
        for entry in view.entries
        if isinstance(entry.body, PhotoKept)
        and entry.retracted_by is None
        and entry.body.ref in there
    ][:MOST_PHOTOS]


def _photos(store: Store, view: JobView) -> Iterator[ReportPhoto]:
    for ref, caption, when in shown_photos(view):
        picture = read_photo(store, view.id, ref).content
        yield ReportPhoto(picture=picture, caption=caption, when=when)


def safety_words(safety: SafetyView) -> tuple[str, bool | None]:
    """The verdict in words, and whether the machine may be used; None where no test was told."""
    if safety.release is not None and not safety.stale:
        if safety.release.release == "released":
            return "Tested after the repair and released for use.", True
        if safety.release.release == "not-released":
            return "Not released: it is disabled and marked. Do not use this machine.", False
        return "The shop put on record why no test was made.", None
    if safety.failed:
        return "The safety test failed. Do not use this machine.", False
    return "", None


def _advised(pack: Pack, causes: Sequence[str]) -> list[Remedy]:
    """What a customer may do so that it stays away: only steps that the pack lets them do."""
    found = [
        remedy
        for remedy in pack.remedies.values()
        if remedy.say and "customer" in remedy.who and any(c in remedy.clears for c in causes)
    ]
    return found[:MOST_ADVICE]


def _cautions(pack: Pack, advised: Sequence[Remedy]) -> tuple[str, ...]:
    names = dict.fromkeys(name for remedy in advised for name in remedy.cautions)
    return tuple(
        f"{pack.cautions[name].harm}: {pack.cautions[name].do}"
        for name in names
        if name in pack.cautions
    )


def _warranty(store: Store, view: JobView) -> tuple[str, ...]:
    closed = closed_job(store, view.id)
    if closed is None or not closed.promised or not isinstance(view.closing, Closing):
        return ()
    found = closed.cover(closed.at.astimezone().date())
    days = (found.labour_until, found.part_until)
    labour, part = (f"{day.day} {day:%B %Y}" for day in days)
    law = "What the law gives you stands above this."
    return (f"On our work until {labour}, on parts until {part}.", law)
