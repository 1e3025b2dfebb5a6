"""Growing a UBL file: elements that are never empty, and parties."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree as ET

from tubside.documents.parties import Party

SPACES = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}
PREFIXES = {"GR": "EL", "XI": "XI"}  # where VAT numbers begin otherwise than the country's code


@dataclass(frozen=True, slots=True)
class Branch:
    """An element to which others are added in the order of the schema."""

    element: ET.Element

    @classmethod
    def root(cls, name: str) -> Branch:
        """Return the outermost element of a document of this name."""
        spaces = {f"xmlns:{prefix}": space for prefix, space in SPACES.items()}
        own = f"urn:oasis:names:specification:ubl:schema:xsd:{name}-2"
        return cls(ET.Element(name, {"xmlns": own, **spaces}))

    def put(self, tag: str) -> Branch:
        """Return a new element inside."""
        return Branch(ET.SubElement(self.element, tag))

    def say(self, tag: str, text: str, **attributes: str) -> None:
        """Put an element with words inside, unless they are empty (PEPPOL-EN16931-R008)."""
        kept = " ".join("".join(sign if _allowed(sign) else " " for sign in text).split())
        if kept:
            ET.SubElement(self.element, tag, attributes).text = kept

    def file(self) -> bytes:
        """Return the whole as UTF-8, with its declaration, set in."""
        ET.indent(self.element)
        text: bytes = ET.tostring(self.element, encoding="UTF-8", xml_declaration=True)
        return text + b"\n"


def _allowed(sign: str) -> bool:
    """Whether XML 1.0 (production 2) can hold the character."""
    code = ord(sign)
    return (
        code in {0x9, 0xA, 0xD}
        or 0x20 <= code <= 0xD7FF
        or 0xE000 <= code <= 0xFFFD
        or code >= 0x10000
    )


def party_id_scheme(party: Party) -> str:
    """Return "VAT" for a tax number with its country's letters (BR-CO-09), else "TAX", or "".

    >>> party_id_scheme(Party(name="x", country="DE", tax_number="DE 123456789"))
    'VAT'
    """
    number = "".join(party.tax_number.split()).upper()
    if not number:
        return ""
    begins = PREFIXES.get(party.country, party.country)
    return "VAT" if party.country and number.startswith(begins) else "TAX"


def put_party(root: Branch, role: str, party: Party, *, tax: str, told: bool) -> None:
    """Put a party; ``tax`` is the code of the tax, ``told`` whether its number may be told."""
    branch = root.put(f"cac:{role}").put("cac:Party")
    if party.electronic_address:
        scheme = party.electronic_scheme or "EM"  # EM: an address for electronic mail
        branch.say("cbc:EndpointID", party.electronic_address, schemeID=scheme)
    branch.put("cac:PartyName").say("cbc:Name", party.name)
    address = branch.put("cac:PostalAddress")
    address.say("cbc:StreetName", party.street)
    address.say("cbc:CityName", party.town)
    address.say("cbc:PostalZone", party.postcode)
    address.say("cbc:CountrySubentity", party.region)
    if party.country:
        address.put("cac:Country").say("cbc:IdentificationCode", party.country)
    seller = role == "AccountingSupplierParty"
    scheme = party_id_scheme(party)
    if told and scheme and (seller or scheme == "VAT" or tax != "VAT"):
        registered = branch.put("cac:PartyTaxScheme")
        registered.say("cbc:CompanyID", "".join(party.tax_number.split()).upper())
        own = scheme if tax == "VAT" else tax
        registered.put("cac:TaxScheme").say("cbc:ID", own)
    legal = branch.put("cac:PartyLegalEntity")
    legal.say("cbc:RegistrationName", party.name)
    legal.say("cbc:CompanyID", party.registration)
    if party.telephone or party.email:
        contact = branch.put("cac:Contact")
        contact.say("cbc:Telephone", party.telephone)
        contact.say("cbc:ElectronicMail", party.email)
