"""Who it is, their photos, and the end of the job."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.documents.card import CONTENT_TYPE, Contact, card
from tubside.errors import AttachmentError, FactError, NotThereError
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.service import people, records
from tubside.service.attachments import add_photo, add_words, erase_photo, read_photo
from tubside.service.safety import check_may_close, safety_of
from tubside.service.visits.place_text import place_in
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.pages.words import CONFIRMED_WORDS, PHOTO_WORDS

FIELDS = (
    ("name", "Name", "text"),
    ("phone", "Telephone", "tel"),
    ("address", "Address, and how to get in", "text"),
    ("email", "E-mail", "email"),
    ("note", "Note", "text"),
    ("place", "Latitude, longitude, or a map link", "text"),
)
LIKELY = 6


def person(desk: Desk, request: Request, _form: Form) -> Response:
    """Name and address, to be read and changed."""
    view = desk.view(request.path_params["job"])
    return desk.render(request, "person.html", {"view": view, "fields": FIELDS}, 200)


def person_card(desk: Desk, request: Request, _form: Form) -> Response:
    """The person as a card for the phone's own address book."""
    view = desk.view(request.path_params["job"])
    data = view.person.data if view.person is not None else None
    if view.person is None or data is None:
        msg = "nobody is named on this job, or they were erased"
        raise NotThereError(msg)
    place = place_in(data.place) if data.place else None
    contact = Contact(
        uid=view.person.ref,
        name=data.name or data.phone,
        telephones=(data.phone,) if data.phone else (),
        email=data.email,
        street=data.address,
        place=(place.lat, place.lon) if place else None,
    )
    headers = {
        "content-type": CONTENT_TYPE,
        "content-disposition": 'attachment; filename="customer.vcf"',
        "cache-control": "no-store",
    }
    return Response(card(contact, desk.clock()), headers=headers)


def ref_of(form: Form) -> str:
    """The reference of what a form keeps beside its facts: the same when it comes twice."""
    once = form.one("once")
    return f"{once}-ref" if once else fresh_id()


def keep_person(desk: Desk, request: Request, form: Form) -> Response:
    """Keep or erase a person; the facts name only a random reference."""
    job = request.path_params["job"]
    view = desk.view(job)
    if form.one("do") == "erase":
        if view.person is None:
            msg = "there is nobody to erase"
            raise NotThereError(msg)
        people.erase_person(desk.store, view.person.ref, desk.clock())
        return go(f"/jobs/{job}")
    data = people.PersonData(**{name: form.one(name) for name, _, _ in FIELDS})
    if data.place:
        place_in(data.place)  # refused here rather than on the day
    before = view.person.ref if view.person is not None and view.person.data is not None else None
    ref = ref_of(form)
    people.add_person(desk.store, ref, data, desk.clock(), before)
    desk.keep(job, [records.PersonNamed(ref=ref)], form.one("once"))
    return go(f"/jobs/{job}")


def keep_photo(desk: Desk, request: Request, form: Form) -> Response:
    """Keep a photo, or erase one."""
    job = request.path_params["job"]
    if form.one("erase"):
        erase_photo(desk.store, job, form.one("erase"), desk.clock())
        return go(f"/jobs/{job}#photos")
    if form.photo is None:
        msg = "choose a photo first"
        raise AttachmentError(msg)
    of = form.one("of", "other")
    if of not in PHOTO_WORDS:
        msg = "say what the photo shows"
        raise FactError(msg)
    ref = ref_of(form)
    add_photo(desk.store, job, ref, form.photo, desk.clock())
    when = {"before": "before", "after": "after"}.get(form.one("when"))
    body = records.PhotoKept(ref=ref, of=of, when=when)  # type: ignore[arg-type]  # checked above
    desk.keep(job, [body], form.one("once"))
    return go(f"/jobs/{job}#photos")


def photo(desk: Desk, request: Request, _form: Form) -> Response:
    """One photo of the job."""
    found = read_photo(desk.store, request.path_params["job"], request.path_params["ref"])
    return Response(found.content, media_type=found.media_type)


def closing(desk: Desk, request: Request, _form: Form) -> Response:
    """What it was, and how that was made sure."""
    view = desk.view(request.path_params["job"])
    if view.known is None:
        return go(f"/jobs/{view.id}/machine")
    leading = [] if view.advice is None else list(view.advice.causes[:LIKELY])
    shown = {cause.id for cause in leading}
    causes = view.known.pack.causes
    rest = sorted(
        ((name, cause.title) for name, cause in causes.items() if name not in shown),
        key=lambda item: item[1].casefold(),
    )
    safety = safety_of(desk.store, view)
    values = {
        "view": view,
        "leading": leading,
        "rest": rest,
        "confirmed": CONFIRMED_WORDS,
        "safety": safety,
    }
    return desk.render(request, "closing.html", values, 200)


def close(desk: Desk, request: Request, form: Form) -> Response:
    """Close the job with its causes."""
    job = request.path_params["job"]
    view = desk.view(job)
    if view.known is None:
        msg = "name the machine before closing the job"
        raise FactError(msg)
    check_may_close(desk.store, view)
    known = (*view.known.pack.causes, *HEALTHY_IDS)
    causes = list(dict.fromkeys(form.all("cause")))
    if unknown := [name for name in causes if name not in known]:
        msg = f"there is no cause '{unknown[0]}' in this pack"
        raise FactError(msg)
    confirmed = form.one("confirmed_by")
    if confirmed not in CONFIRMED_WORDS or not causes:
        msg = "tap at least one cause, and how it was made sure"
        raise FactError(msg)
    words = None
    if form.one("note"):
        words = ref_of(form)
        add_words(desk.store, job, words, form.one("note"), desk.clock())
    body = records.Closing(causes=causes, confirmed_by=confirmed, words=words)  # type: ignore[arg-type]  # checked above
    desk.keep(job, [body], form.one("once"))
    return go(f"/jobs/{job}")
