"""How the shop travels, and when each technician works: set by the office, kept in the store."""

from __future__ import annotations

import re
from datetime import time
from typing import Annotated

import msgspec
from msgspec import Meta
from sqlalchemy import Connection

from tubside.day.problem import HOUR, MINUTE, Break, Place, Technician, Window
from tubside.day.travel import ROAD_FACTOR, SPEED
from tubside.documents.message import dialled
from tubside.errors import DayError
from tubside.service.money.shop_money import shop_money_in
from tubside.service.visits.place_text import place_in
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting, settings_under

TRAVEL, TECHNICIAN, CALLER = "day/travel", "day/technician/", "day/caller"
NAME = re.compile(r"[a-z0-9][a-z0-9.-]{0,39}")
Text = Annotated[str, Meta(max_length=500)]


class TravelSetting(msgspec.Struct, frozen=True, kw_only=True):
    """How long ways take; ``router`` is the address of an OSRM server, nobody's unless set."""

    speed_kmh: Annotated[float, Meta(gt=0, le=200)] = SPEED * 3.6
    road_factor: Annotated[float, Meta(ge=1, le=5)] = ROAD_FACTOR
    unknown_minutes: Annotated[float, Meta(gt=0, le=240)] = 20.0
    """Travel to a place whose coordinates nobody knows; common practice, no source."""
    router: Text = ""


class CallerSetting(msgspec.Struct, frozen=True, kw_only=True):
    """Who writes to customers: the shop's name, and the number they ring."""

    shop: Text = ""
    telephone: Text = ""


class TechnicianSetting(msgspec.Struct, frozen=True, kw_only=True):
    """Where and when a technician works; times such as "08:00", a break's length in minutes."""

    start: Text
    end: Text = ""
    begins: Text = "08:00"
    finishes: Text = "17:00"
    break_at: Text = ""
    break_minutes: Annotated[float, Meta(ge=0, le=240)] = 0.0
    skills: Annotated[tuple[Text, ...], Meta(max_length=20)] = ()
    people: Annotated[int, Meta(ge=1, le=4)] = 1


def travel_setting(opened: Connection) -> TravelSetting:
    """Return how the shop travels; our own assumptions until it was said."""
    text = setting(opened, TRAVEL)
    return TravelSetting() if text is None else msgspec.json.decode(text, type=TravelSetting)


def keep_travel(store: Store, told: TravelSetting) -> None:
    """Keep how the shop travels; DayError when a number cannot be."""
    with store.writing() as opened:
        keep_setting(opened, TRAVEL, _checked(told, TravelSetting))


def caller_setting(opened: Connection) -> CallerSetting:
    """Return how the shop calls itself in texts: unless it was said, as on its papers."""
    text = setting(opened, CALLER)
    told = CallerSetting() if text is None else msgspec.json.decode(text, type=CallerSetting)
    return told if told.shop else msgspec.structs.replace(told, shop=shop_money_in(opened).shop)


def keep_caller(store: Store, told: CallerSetting) -> None:
    """Keep it; DocumentError when the number is none."""
    if told.telephone:
        dialled(told.telephone)
    with store.writing() as opened:
        keep_setting(opened, CALLER, _checked(told, CallerSetting))


def technician_settings(opened: Connection) -> dict[str, TechnicianSetting]:
    """Return name -> where and when that technician works, by name."""
    rows = settings_under(opened, TECHNICIAN)
    return {name: msgspec.json.decode(text, type=TechnicianSetting) for name, text in rows.items()}


def keep_technician(store: Store, name: str, told: TechnicianSetting) -> None:
    """Keep where and when a technician works.

    Raises
    ------
    DayError
        When the name, a place, a time or a number cannot be.
    """
    if not NAME.fullmatch(name):
        msg = f"'{name[:40]}' is no name of an account; small letters, digits, dots and dashes"
        raise DayError(msg)
    technician_of(name, told)
    with store.writing() as opened:
        keep_setting(opened, TECHNICIAN + name, _checked(told, TechnicianSetting))


def drop_technician(store: Store, name: str) -> None:
    """Forget a technician's hours; their visits then need somebody else."""
    with store.writing() as opened:
        drop_setting(opened, TECHNICIAN + name)


def technician_of(name: str, told: TechnicianSetting) -> Technician:
    """Return a technician of the day's plan; DayError when a time or a place cannot be."""
    start = place_in(told.start)
    pause = (Break(_seconds(told.break_at), told.break_minutes * MINUTE),) if told.break_at else ()
    return Technician(
        id=name,
        start=start,
        end=place_in(told.end) if told.end else start,
        hours=Window(_seconds(told.begins), _seconds(told.finishes)),
        breaks=pause,
        skills=frozenset(told.skills),
        people=told.people,
    )


def home_of(technicians: dict[str, TechnicianSetting]) -> Place | None:
    """Return where most begin: what stands in for a place that nobody knows."""
    starts = [told.start for told in technicians.values()]
    return place_in(max(starts, key=starts.count)) if starts else None


def _seconds(text: str) -> float:
    try:
        at = time.fromisoformat(text)
    except ValueError:
        msg = f"'{text[:20]}' is no time of day; write it like 08:00"
        raise DayError(msg) from None
    return at.hour * HOUR + at.minute * MINUTE


def _checked(told: msgspec.Struct, kind: type[msgspec.Struct]) -> str:
    text = msgspec.json.encode(told)
    try:
        msgspec.json.decode(text, type=kind)
    except msgspec.DecodeError as wrong:
        msg = f"this cannot be kept: {wrong}"
        raise DayError(msg) from None
    return text.decode()
