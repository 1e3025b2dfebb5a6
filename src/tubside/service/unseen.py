"""A machine that nobody has taught: its family by two plain questions, its name, its panel."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Mapping
from types import MappingProxyType

from tubside.errors import FactError
from tubside.panel.lights import light_of
from tubside.panel.quick_sketch import Front, Look
from tubside.service.panel_records import KindTold, PanelSketched
from tubside.service.records import Machine
from tubside.service.replay import counting
from tubside.service.views import Entry

SIGNS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "top_load": ("washes", "top"),
        "front_load": ("washes", "front"),
        "dryer": ("dries", "not-sure"),
        "dishwasher": ("dishes", "not-sure"),
    }
)
"""Family -> what it does, and where the clothes go in where that tells families apart."""
LONGEST_PLATE = 24
LONGEST_SERIAL = 40


def families_left(told: KindTold, families: Collection[str]) -> list[str]:
    """The families that fit both answers; "not sure" rules nothing out.

    >>> families_left(KindTold(does="washes"), ["dryer", "front_load", "top_load"])
    ['front_load', 'top_load']
    >>> families_left(KindTold(does="dries", opening="front"), ["dryer", "front_load"])
    ['dryer']
    """
    return [name for name in families if name in SIGNS and _fits(told, *SIGNS[name])]


def _fits(told: KindTold, does: str, opening: str) -> bool:
    right = told.does in {does, "not-sure"}
    return right and ("not-sure" in {told.opening, opening} or told.opening == opening)


def plate_code(words: str) -> str | None:
    """A name from a type plate as a code of letters and digits; None for no words.

    >>> plate_code(" Kestrel 5.20/b "), plate_code("")
    ('KESTREL-5-20-B', None)

    Raises
    ------
    FactError
        When it holds no Latin letter or digit, or is longer than 24.
    """
    return _code(words, "the model's name", LONGEST_PLATE)


def serial_code(words: str) -> str | None:
    """A machine's serial number as a code of letters and digits; None for no words.

    >>> serial_code(" b 0042/ab7 "), serial_code("")
    ('B-0042-AB7', None)

    Raises
    ------
    FactError
        When it holds no Latin letter or digit, or is longer than 40.
    """
    return _code(words, "the serial number", LONGEST_SERIAL)


def _code(words: str, what: str, longest: int) -> str | None:
    if not words.strip():
        return None
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().upper()
    code = "-".join(re.findall(r"[A-Z0-9]+", plain))
    if not code or len(code) > longest:
        msg = f"write {what} as on the plate, in letters A to Z and digits, at most {longest}"
        raise FactError(msg)
    return code


def same_plate(code: str) -> str:
    """What two spellings of one name share: people put spaces and hyphens differently.

    >>> same_plate("WM-14-S") == same_plate("WM14S")
    True
    """
    return code.replace("-", "").casefold()


def plate_of(entries: Iterable[Entry]) -> str | None:
    """The name on the type plate that was told last, of the machine that was named last."""
    return _told_last(entries, lambda body: body.plate)


def serial_of(entries: Iterable[Entry]) -> str | None:
    """The serial number that was told last, of the machine that was named last."""
    return _told_last(entries, lambda body: body.serial)


def _told_last(entries: Iterable[Entry], told: Callable[[Machine], str | None]) -> str | None:
    found = family = None
    for body in counting(entries):
        if isinstance(body, Machine):
            other = body.family is not None and family is not None
            found = told(body) or (None if other else found)
            family = body.family or family
    return found


def front_of(body: PanelSketched, words: Mapping[str, str | None]) -> Front:
    """The panel of a sketch; ``words`` are those kept beside the job, None where erased."""
    told = (words.get(body.labels) or "").split("\n") if body.labels else []
    labels = (told + [""] * len(body.lamps))[: len(body.lamps)]
    return Front(body.layout, tuple(labels), body.has_display)


def look_of(body: PanelSketched) -> Look:
    """What a sketched panel showed."""
    return Look(tuple(light_of(lamp) for lamp in body.lamps), body.sound, body.display or None)
