"""One look-up at the shop's routing server, and nowhere else."""

from __future__ import annotations

from http.client import HTTPException
from urllib.error import HTTPError
from urllib.request import HTTPRedirectHandler, ProxyHandler, build_opener

LARGEST = 20_000_000
"""Bytes of an answer that are read at most."""


class _StayHere(HTTPRedirectHandler):
    """Follows no redirect: customers' places go only to the server that was set."""

    def redirect_request(self, *_: object, **__: object) -> None:
        """Refuse."""


def fetch(address: str, timeout: float) -> bytes:
    """Return what stands at ``address``, an http address already checked.

    A server's own account of an error (status 4xx with JSON) is an answer too.

    Raises
    ------
    OSError
        When there is no answer in ``timeout`` seconds, or a far too long one.
    """
    opener = build_opener(ProxyHandler({}), _StayHere())
    try:
        with opener.open(address, timeout=timeout) as answer:
            read: bytes = answer.read(LARGEST + 1)
    except HTTPError as error:
        with error:
            read = error.read(LARGEST + 1)
    except HTTPException as error:
        msg = f"it broke off ({type(error).__name__})"
        raise OSError(msg) from error
    if len(read) > LARGEST:
        msg = "it sent far too much"
        raise OSError(msg)
    return read
