"""All of it around an app, in the order in which it acts."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from starlette.types import ASGIApp

from tubside.panel.archive import LARGEST as MODEL_LIMIT
from tubside.service.attachments import PHOTO_LIMIT
from tubside.service.parts.listing_file import LARGEST as LIST_LIMIT
from tubside.service.recording_reading import RECORDING_LIMIT
from tubside.service.scanning import LARGEST as SCAN_LIMIT
from tubside.service.shaking import LOG_LIMIT
from tubside.store.opening import Store
from tubside.web.security.gate import Gate
from tubside.web.security.headers import SafeHeaders
from tubside.web.security.hosts import LOOPBACK_HOSTS, KnownHosts
from tubside.web.security.limits import BodyLimits, Limited
from tubside.web.security.outside import FILM_SIZE, FILMS, Outside, PublicOnly
from tubside.web.security.same_origin import SameOriginOnly

AROUND = 64 * 1024
BASE64 = 4 / 3
"""How much longer a photo is among text (RFC 4648)."""
UPLOADS = {
    re.compile(r"/jobs/[^/]+/photos"): PHOTO_LIMIT + AROUND,
    re.compile(r"/jobs/[^/]+/recordings"): RECORDING_LIMIT + AROUND,
    FILMS: FILM_SIZE,
    re.compile(r"/jobs/[^/]+/spin"): RECORDING_LIMIT + AROUND,
    re.compile(r"/jobs/[^/]+/shake"): LOG_LIMIT + AROUND,
    re.compile(r"/sync"): int(PHOTO_LIMIT * BASE64) + AROUND,
    re.compile(r"/models/new"): PHOTO_LIMIT + AROUND,
    re.compile(r"/models/import"): MODEL_LIMIT + AROUND,
    re.compile(r"/parts/import"): LIST_LIMIT + AROUND,
    re.compile(r"/parts/scan"): SCAN_LIMIT + AROUND,
}
"""The paths that take more than a form: a photo or a model, and what is around it."""


@dataclass(frozen=True, slots=True)
class Guarding:
    """How the app is guarded: the names it answers to, its limits, and who may come in."""

    hosts: frozenset[str] = LOOPBACK_HOSTS
    limits: BodyLimits = field(default_factory=lambda: BodyLimits(wider=UPLOADS))
    always_login: bool = False
    """True on every binding that others can reach; else a login is needed once there
    is an account."""
    outside: Outside | None = None
    """Set where the internet asks: then nothing but the public pages is there."""


def guard(app: ASGIApp, guarding: Guarding, store: Store, clock: Callable[[], datetime]) -> ASGIApp:
    """Return the app behind everything that guards it.

    An unknown name is refused before anything is looked up, a foreign form before
    its body is read, and every refusal carries the same headers as a page.
    """
    gated = Gate(app, store, clock, always=guarding.always_login)
    inner: ASGIApp = Limited(SameOriginOnly(gated), guarding.limits)
    if guarding.outside is not None:
        inner = PublicOnly(inner, guarding.outside)
    return SafeHeaders(KnownHosts(inner, guarding.hosts))
