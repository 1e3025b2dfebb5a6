"""The public pages opened for the internet, behind the shop's real certificate."""

from __future__ import annotations

import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, ip_address
from pathlib import Path

from cryptography import x509

from tubside.errors import ServingError
from tubside.service.public_address import checked_name, keep_public_address
from tubside.web.app import create_app
from tubside.web.lan.addresses import Address
from tubside.web.lan.authority import ServerFiles
from tubside.web.security.guarding import Guarding
from tubside.web.security.outside import SMALL, Outside
from tubside.web.security.pace import pace_of
from tubside.web.serving import LOOPBACK, Serving, listen, port_of
from tubside.web.shop import Opened, Shop

HTTPS = 443
EVERYWHERE = IPv4Address(0)
"""Every IPv4 address of this machine."""


@dataclass(frozen=True, slots=True)
class PublicPlace:
    """Where the public pages are reached: under a name, with a certificate or behind a proxy.

    ``files`` None: a reverse proxy on this machine holds the certificate and passes on to
    127.0.0.1, which alone is listened at.
    """

    name: str
    port: int
    files: ServerFiles | None = None
    addresses: Sequence[Address] = ()


def open_public(shop: Shop, place: PublicPlace) -> Opened:
    """Open the public pages, and let the links that are sent begin with their address.

    Raises
    ------
    ServingError
        When the name is none, the certificate does not fit, or the port cannot be used.
    """
    name = checked_name(place.name)
    if place.files is not None:
        check_files(place.files, name, shop)
    elif place.addresses:
        msg = "behind a proxy only 127.0.0.1 is listened at; --address goes with --certificate"
        raise ServingError(msg)
    outside = Outside(pace_of(shop.store, shop.clock), proxied=place.files is None)
    guarding = Guarding(frozenset({name}), SMALL, always_login=True, outside=outside)
    app = create_app(guarding, shop.store, shop.library, shop.clock)
    at = [LOOPBACK] if place.files is None else list(place.addresses or [EVERYWHERE])
    sockets = listen(at, place.port)
    port = port_of(sockets)
    behind = place.files is None or port == HTTPS
    address = f"https://{name}" if behind else f"https://{name}:{port}"
    keep_public_address(shop.store, address)
    files = place.files
    certificate = None if files is None else lambda: files
    return Opened(Serving(app, sockets, certificate), address)


def check_files(files: ServerFiles, name: str, shop: Shop) -> None:
    """Refuse a certificate that a browser would refuse: of another name, or out of its time.

    Raises
    ------
    ServingError
        Naming what is wrong and the file.
    """
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(files.chain, files.key)
        certificate = x509.load_pem_x509_certificate(files.chain.read_bytes())
        named = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ssl.SSLError, ValueError, x509.ExtensionNotFound) as wrong:
        msg = f"certificate and key cannot be used ({wrong}); --certificate is the whole chain"
        raise ServingError(msg) from None
    names = named.get_values_for_type(x509.DNSName)
    if not {name, f"*.{name.partition('.')[2]}"} & set(names):
        msg = f"{files.chain} is for {', '.join(names) or 'no name'}, not for {name}"
        raise ServingError(msg)
    if not certificate.not_valid_before_utc <= shop.clock() <= certificate.not_valid_after_utc:
        msg = f"{files.chain} held until {certificate.not_valid_after_utc:%Y-%m-%d}; renew it"
        raise ServingError(msg)


def files_of(certificate: Path | None, key: Path | None) -> ServerFiles | None:
    """Both files, or neither; ServingError for one alone."""
    if (certificate is None) != (key is None):
        msg = "--certificate and --key go together"
        raise ServingError(msg)
    return None if certificate is None or key is None else ServerFiles(certificate, key)


def addresses_of(told: Sequence[str]) -> tuple[Address, ...]:
    """Addresses as they were typed; ServingError for one that is none."""
    try:
        return tuple(ip_address(one) for one in told)
    except ValueError as wrong:
        msg = f"{wrong}; write it like 203.0.113.7, or leave it out to serve at every one"
        raise ServingError(msg) from None
