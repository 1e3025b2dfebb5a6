"""The cookie that carries a session, and nothing else."""

from __future__ import annotations

from starlette.datastructures import Headers
from starlette.responses import Response

from tubside.service.logins import SESSION_LIFE

NAMES = {"https": "__Host-tubside", "http": "tubside"}
"""By our scheme: the prefix makes a browser insist on Secure, Path=/ and no Domain
(RFC 6265bis, section 4.1.3.2); plain http, on this machine only, cannot have it."""


def token_in(headers: Headers, scheme: str) -> str | None:
    """Return the session token that a request carries, None if it has none or several."""
    name = NAMES[scheme]
    pairs = (part.strip().partition("=") for part in headers.get("cookie", "").split(";"))
    found = {value for key, _, value in pairs if key == name}
    return found.pop() if len(found) == 1 else None


def give(response: Response, token: str, scheme: str) -> None:
    """Let the browser keep a session token."""
    response.set_cookie(
        NAMES[scheme],
        token,
        max_age=int(SESSION_LIFE.total_seconds()),
        path="/",
        secure=scheme == "https",
        httponly=True,
        samesite="lax",
    )


def take_away(response: Response, scheme: str) -> None:
    """Let the browser forget its session token."""
    response.delete_cookie(
        NAMES[scheme], path="/", secure=scheme == "https", httponly=True, samesite="lax"
    )
