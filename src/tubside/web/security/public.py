"""Which addresses are open to whom."""

from __future__ import annotations

import re

PUBLIC: frozenset[str] = frozenset(
    {
        r"/calendar/[A-Za-z0-9_-]{32}\.ics",
        r"/quote/[A-Za-z0-9_.-]{1,600}",
        r"/check/[A-Za-z0-9_.-]{1,400}(/film)?",
    }
)
"""Patterns of whole paths that anybody may open: a technician's calendar, by its secret link,
a customer's quote and a customer's own check, by their signed ones, which end."""

LOGIN = "/login"
LOGIN_ASSETS = re.compile(r"/static/[A-Za-z0-9_-]+\.(css|svg|js|png|ico|woff2)")
"""What the login page is made of: files of the program, the same for everybody."""
WORKER = "/service-worker.js"
"""A browser fetches a worker that is a module without cookies (W3C Service Workers, Start
Register: credentials mode "omit"); its text is the same for everybody too."""


def is_open(path: str) -> bool:
    """Return whether a path needs no login."""
    return (
        path in {LOGIN, WORKER}
        or LOGIN_ASSETS.fullmatch(path) is not None
        or any(re.fullmatch(pattern, path) for pattern in PUBLIC)
    )


def shown_outside(path: str) -> bool:
    """Return whether the internet sees a path: what is public, and what its pages are made of."""
    return LOGIN_ASSETS.fullmatch(path) is not None or any(
        re.fullmatch(pattern, path) for pattern in PUBLIC
    )


LOCAL = re.compile(r"/(?![/\\])[!#-\[\]-~]*")


def next_page(wanted: str | None) -> str:
    """Return the page to go to after the login: one of ours, or the first page.

    >>> next_page("/jobs/7?line=1"), next_page("//elsewhere.example"), next_page(None)
    ('/jobs/7?line=1', '/', '/')
    """
    return wanted if wanted and len(wanted) < 500 and LOCAL.fullmatch(wanted) else "/"
