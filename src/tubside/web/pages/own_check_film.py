"""A clip or a sound that a customer sends: kept for the technician to read, and bounded."""

from __future__ import annotations

from importlib.util import find_spec

from tubside.errors import OwnCheckError, RecordingError
from tubside.service.own_check.keeping import Keeper, keep_facts
from tubside.service.own_check.standing import mine
from tubside.service.recording_reading import shown_of, take_in
from tubside.service.recording_records import RecordingKept
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form

FILM_LIMIT = 30 << 20
"""Bytes: ten seconds of full HD as phones film it take 20 MB (common practice, no source)."""
MOST_FILMS = 2


def film_limit(view: JobView | None) -> int:
    """Megabytes that a film may have; 0 where none is taken."""
    if view is None or view.dangers or view.known is None or view.known.panel is None:
        return 0
    able = find_spec("av") is not None and find_spec("cv2") is not None
    return FILM_LIMIT >> 20 if able and films_sent(view) < MOST_FILMS else 0


def films_sent(view: JobView) -> int:
    """How many films have come by the link."""
    return sum(isinstance(body, RecordingKept) for body in mine(view))


def take_film(desk: Desk, view: JobView, form: Form) -> None:
    """Keep a clip of the lamps, or a sound where it has no picture.

    Raises
    ------
    OwnCheckError
        When no more are taken, or it is too large.
    RecordingError
        When it is neither.
    """
    if not film_limit(view):
        msg = "no more films are taken here; tell the lamps in the form instead"
        raise OwnCheckError(msg)
    if form.photo is None:
        msg = "choose a clip or a sound first"
        raise OwnCheckError(msg)
    if len(form.photo) > FILM_LIMIT:
        msg = f"the film is too large; ten seconds and {FILM_LIMIT >> 20} MB are enough"
        raise OwnCheckError(msg)
    keeper = Keeper(desk.store, desk.library, desk.clock)
    ref = keeper.author(view.id, f"{form.one('once')}-film").fresh_id()
    if shown_of(desk.store, ref) is not None:
        return
    of = "lamps"
    try:
        take_in(desk.store, view.id, ref, of, form.photo, desk.clock())
    except RecordingError:
        of = "sound"
        take_in(desk.store, view.id, ref, of, form.photo, desk.clock())
    keep_facts(keeper, view.id, [RecordingKept(ref=ref, of=of)], form.one("once"))  # type: ignore[arg-type]  # one of both
