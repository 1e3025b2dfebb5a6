"""The shop's own name and address as papers, messages and records show them."""

from __future__ import annotations

from dataclasses import replace

from tubside.documents.parties import Party
from tubside.service.money.content import Head
from tubside.service.money.shop_money import ShopMoney, shop_money
from tubside.store.opening import Store

COUNTRIES = {"UK": "GB"}  # where a profile's name is not the code of ISO 3166-1
UNNAMED = "The repair shop"
"""Stands where the office has settled no name yet."""


def shop_party(store: Store) -> Party:
    """The shop as it is settled now: the one place from which everything takes its details."""
    told = shop_money(store)
    found = party_of(told.shop or UNNAMED, told.address, told.country)
    return with_contacts(replace(found, tax_number=told.tax_number), told)


def seller_of(head: Head, told: ShopMoney | None = None) -> Party:
    """The shop as a kept paper named it; telephone, e-mail and licence as they are now."""
    found = party_of(head.shop or UNNAMED, head.address, head.country)
    found = replace(found, tax_number=head.tax_number)
    return found if told is None else with_contacts(found, told)


def with_contacts(party: Party, told: ShopMoney) -> Party:
    """The party with how the shop is reached, and its licence."""
    return replace(party, telephone=told.telephone, email=told.email, licence=told.licence)


def party_of(name: str, address: str, country: str = "") -> Party:
    """Somebody by name and the lines of an address, the first of which is the street.

    >>> party_of("Ada Quill", "4 Mill Lane, Elverdale", "UK").lines()
    ('Ada Quill', '4 Mill Lane, Elverdale', 'GB')
    """
    lines = [line.strip() for line in address.splitlines() if line.strip()]
    code = COUNTRIES.get(country, country)
    return Party(name=name, street="".join(lines[:1]), town=", ".join(lines[1:]), country=code)
