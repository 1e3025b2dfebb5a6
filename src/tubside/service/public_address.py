"""Where customers reach the shop from outside: what the links they are sent begin with."""

from __future__ import annotations

import re

from tubside.errors import ServingError
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting

NAME = "public.address"
LABEL = r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"
NAMED = re.compile(rf"{LABEL}(\.{LABEL})+")
"""A host name with a dot in it, in small letters (RFC 1123, 2.1; from memory)."""
ADDRESS = re.compile(rf"https://{NAMED.pattern}(:[0-9]{{1,5}})?")
LONGEST = 253


def public_address(store: Store) -> str:
    """The address without a last slash; "" where the shop is not reached from outside."""
    with store.reading() as opened:
        return setting(opened, NAME) or ""


def keep_public_address(store: Store, address: str) -> None:
    """Keep it, or forget it for "".

    Raises
    ------
    ServingError
        When it is no https address of a name alone.
    """
    plain = address.strip().rstrip("/").lower()
    if plain and not (len(plain) <= LONGEST and ADDRESS.fullmatch(plain)):
        msg = f"'{address[:80]}' is no address; write it like https://quotes.example.org"
        raise ServingError(msg)
    with store.writing() as opened:
        if plain:
            keep_setting(opened, NAME, plain)
        else:
            drop_setting(opened, NAME)


def checked_name(name: str) -> str:
    """A host name in small letters.

    Raises
    ------
    ServingError
        When it is none: an address, a scheme, a path or a port.
    """
    plain = name.strip().lower().removesuffix(".")
    fits = len(plain) <= LONGEST and NAMED.fullmatch(plain)
    if not fits or plain.replace(".", "").isdigit():
        msg = f"'{name[:80]}' is no name to be reached under; write it like quotes.example.org"
        raise ServingError(msg)
    return plain
