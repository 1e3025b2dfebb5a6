"""Who and what a document speaks of: two parties, one machine."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Party:
    """A shop, a customer or whoever else pays."""

    name: str
    street: str = ""
    town: str = ""
    postcode: str = ""
    region: str = ""
    country: str = ""  # ISO 3166-1 alpha-2, such as "DE"
    telephone: str = ""
    email: str = ""
    tax_number: str = ""  # as the tax office writes it; with its country letters in the EU
    tax_number_label: str = "Tax number"
    registration: str = ""  # number in the register of companies
    licence: str = ""  # number of the trade licence
    electronic_address: str = ""  # where invoices are sent over a network
    electronic_scheme: str = ""  # code of its scheme, such as "0088" or "EM"

    def lines(self) -> tuple[str, ...]:
        """Return name and address as they stand in a letter."""
        place = " ".join(part for part in (self.postcode, self.town) if part)
        every = (self.name, self.street, place, self.region, self.country)
        return tuple(part for part in every if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentMachine:
    """The machine a document speaks of, in words."""

    kind: str = ""  # such as "front-load washing machine"
    model: str = ""
    serial: str = ""
    place: str = ""  # where it stands, when it is not the customer's address


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """That the customer agreed."""

    name: str
    when: str  # date and time in words
    how: str  # "by the link sent to ..." or "on the technician's screen"
    wording: str  # the sentence agreed to
