"""What the shop has settled about the safety test: its country, and limits it confirmed."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import msgspec
from msgspec import Meta

from tubside.errors import SafetyError
from tubside.safety.limits import Confirmed
from tubside.safety.profile_schema import Profile
from tubside.safety.profiles import LoadedProfile, limit_digest, load_profile
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting, settings_under

COUNTRY = "safety.country"
LIMITS = "safety.limit."
Text = Annotated[str, Meta(min_length=1, max_length=200, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]


class Confirmation(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A limit as the shop found it in its own copy: by whom, when, and where it stands.

    ``digest`` is that of the limit as it was shipped: when that changes, it is asked again.
    """

    reference: Text
    by: Text
    at: datetime
    digest: str
    value: Annotated[float, Meta(gt=0, le=1e6)] | None = None


def shop_profile(store: Store) -> LoadedProfile | None:
    """The profile of the shop's country; None until it is chosen."""
    with store.reading() as opened:
        country = setting(opened, COUNTRY)
    return None if country is None else load_profile(country)


def choose_country(store: Store, country: str) -> None:
    """Settle the shop's country; UnknownNameError where there is no profile of it."""
    load_profile(country)
    with store.writing() as opened:
        keep_setting(opened, COUNTRY, country)


def confirmations(store: Store, profile: Profile) -> dict[str, Confirmation]:
    """Limit -> what the shop confirmed of it, where the limit is still the one it saw."""
    with store.reading() as opened:
        kept = settings_under(opened, f"{LIMITS}{profile.country}.")
    read = {name: msgspec.json.decode(text, type=Confirmation) for name, text in kept.items()}
    return {
        name: one
        for name, one in read.items()
        if name in profile.limits and one.digest == limit_digest(profile.limits[name])
    }


def confirmed_limits(store: Store, profile: Profile) -> dict[str, Confirmed]:
    """The same as the test needs it."""
    found = confirmations(store, profile)
    return {name: Confirmed(one.reference, one.value) for name, one in found.items()}


def confirm_limit(store: Store, profile: Profile, name: str, confirmation: Confirmation) -> None:
    """Keep what the shop found; SafetyError where it says too little or too much."""
    if name not in profile.limits:
        msg = f"there is no limit '{name[:40]}' in this country"
        raise SafetyError(msg)
    text = msgspec.json.encode(confirmation)
    try:
        msgspec.json.decode(text, type=Confirmation)
    except msgspec.ValidationError:
        msg = (
            "say where the limit stands in your copy (standard, edition, page) and who looked; "
            "a value of your own is a number above 0"
        )
        raise SafetyError(msg) from None
    with store.writing() as opened:
        keep_setting(opened, f"{LIMITS}{profile.country}.{name}", text.decode())


def withdraw(store: Store, profile: Profile, name: str) -> None:
    """Forget what was confirmed of a limit: from now on it decides nothing again."""
    with store.writing() as opened:
        drop_setting(opened, f"{LIMITS}{profile.country}.{name}")
