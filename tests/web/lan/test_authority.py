"""Tests of the shop's own certificate authority, against OpenSSL by way of ``ssl``."""

from __future__ import annotations

import socket
import ssl
import stat
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from threading import Thread

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding

from tubside.errors import ServingError
from tubside.web.lan import authority as lan_authority
from tubside.web.lan.addresses import Reach
from tubside.web.lan.authority import Authority, ServerFiles, authority_in, server_files

NOW = datetime.now(UTC)
HERE = Reach((ip_address("127.0.0.1"),), ("van.local",))


def shake_hands(files: ServerFiles, trusted: Path | None, name: str = "127.0.0.1") -> None:
    """Connect to a server with these files as a phone would that trusts ``trusted``."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(files.chain, files.key)
    client = ssl.create_default_context(cafile=None if trusted is None else str(trusted))
    here, there = socket.socketpair()

    def answer() -> None:
        try:
            with server.wrap_socket(there, server_side=True) as wrapped:
                wrapped.recv(1)
        except OSError:
            there.close()

    thread = Thread(target=answer)
    thread.start()
    try:
        with client.wrap_socket(here, server_hostname=name) as wrapped:
            wrapped.send(b"x")
    finally:
        here.close()
        thread.join(timeout=5)


def forged(folder: Path, authority: Authority, name: x509.GeneralName) -> ServerFiles:
    """Return files for a name that the authority may not vouch for, signed by its key."""
    real = server_files(folder, authority, HERE, NOW)
    key = ec.generate_private_key(ec.SECP256R1())
    builder = lan_authority._builder(
        x509.Name([]), authority.certificate.subject, key, (NOW, timedelta(days=9))
    ).add_extension(x509.SubjectAlternativeName([name]), critical=True)
    certificate = builder.sign(authority.key, hashes.SHA256())
    real.chain.write_bytes(certificate.public_bytes(Encoding.PEM))
    real.key.write_bytes(lan_authority._key_pem(key))
    return real


@pytest.mark.parametrize("name", ["127.0.0.1", "van.local"])
def test_the_chain_is_trusted(tmp_path: Path, name: str) -> None:
    """Tests that a client that trusts the authority accepts our addresses and names."""
    files = server_files(tmp_path, authority_in(tmp_path, NOW), HERE, NOW)
    shake_hands(files, tmp_path / "authority.crt", name)


def test_nobody_else_trusts_it(tmp_path: Path) -> None:
    """Tests that a client without our authority refuses."""
    files = server_files(tmp_path, authority_in(tmp_path, NOW), HERE, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="self-signed"):
        shake_hands(files, None)


def test_another_address_is_refused(tmp_path: Path) -> None:
    """Tests that the certificate is good for the named addresses only."""
    files = server_files(tmp_path, authority_in(tmp_path, NOW), HERE, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        shake_hands(files, tmp_path / "authority.crt", "127.0.0.2")


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        (x509.DNSName("elsewhere.example"), "elsewhere.example"),
        (x509.DNSName("local.elsewhere.example"), "local.elsewhere.example"),
        (x509.IPAddress(ip_address("203.0.113.7")), "203.0.113.7"),
        (x509.IPAddress(ip_address("2001:db8::7")), "2001:db8::7"),
    ],
    ids=["name", "longer name", "address", "IPv6 address"],
)
def test_it_cannot_vouch_for_others(tmp_path: Path, name: x509.GeneralName, asked: str) -> None:
    """Tests that even with its stolen key no other site can be claimed."""
    files = forged(tmp_path, authority_in(tmp_path, NOW), name)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(files, tmp_path / "authority.crt", asked)


def test_keys_are_for_the_owner(tmp_path: Path) -> None:
    """Tests that the folder and the keys can be read by nobody else."""
    folder = tmp_path / "tls"
    server_files(folder, authority_in(folder, NOW), HERE, NOW)
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
    assert modes["authority.key"] == modes["server.key"] == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_an_open_key_is_refused(tmp_path: Path) -> None:
    """Tests that a key that others can read is told, with how to mend it."""
    authority_in(tmp_path, NOW)
    (tmp_path / "authority.key").chmod(0o640)
    with pytest.raises(ServingError, match=r"mode 640.*chmod 600"):
        authority_in(tmp_path, NOW)


@pytest.mark.parametrize("file", ["authority.key", "authority.crt"])
def test_a_damaged_authority_is_told(tmp_path: Path, file: str) -> None:
    """Tests that a file that cannot be read, or is another's, is told and not overwritten."""
    authority_in(tmp_path, NOW)
    (tmp_path / file).write_bytes(b"nothing")
    with pytest.raises(ServingError, match="damaged"):
        authority_in(tmp_path, NOW)
    assert (tmp_path / file).read_bytes() == b"nothing"


def test_keys_of_two_authorities_do_not_mix(tmp_path: Path) -> None:
    """Tests that a key beside the certificate of another authority is told."""
    authority_in(tmp_path / "a", NOW)
    authority_in(tmp_path / "b", NOW)
    (tmp_path / "a" / "authority.crt").replace(tmp_path / "b" / "authority.crt")
    with pytest.raises(ServingError, match="damaged"):
        authority_in(tmp_path / "b", NOW)


def test_the_authority_stays(tmp_path: Path) -> None:
    """Tests that a phone has to trust once: the authority is the same a year later."""
    first = authority_in(tmp_path, NOW)
    later = authority_in(tmp_path, NOW + timedelta(days=365))
    assert first.fingerprint() == later.fingerprint()


def test_an_ending_authority_is_told(tmp_path: Path) -> None:
    """Tests that an authority that would end before its certificates is not used."""
    authority_in(tmp_path, NOW)
    with pytest.raises(ServingError, match="ends soon"):
        authority_in(tmp_path, NOW + timedelta(days=3600))


def test_a_certificate_is_renewed_in_time(tmp_path: Path) -> None:
    """Tests that it is kept while it has 30 days to go, and renewed with less."""
    authority = authority_in(tmp_path, NOW)
    first = server_files(tmp_path, authority, HERE, NOW).chain.read_bytes()
    kept = server_files(tmp_path, authority, HERE, NOW + timedelta(days=59)).chain.read_bytes()
    assert kept == first
    later = NOW + timedelta(days=61)
    renewed = server_files(tmp_path, authority, HERE, later).chain.read_bytes()
    assert renewed != first
    assert x509.load_pem_x509_certificate(renewed).not_valid_after_utc > later + timedelta(days=80)


@pytest.mark.parametrize("damage", ["address", "chain", "key", "authority", "missing"])
def test_a_certificate_that_does_not_fit_is_replaced(tmp_path: Path, damage: str) -> None:
    """Tests that another address, a damaged file or another authority gets a new one."""
    authority = authority_in(tmp_path, NOW)
    files = server_files(tmp_path, authority, HERE, NOW)
    first, reach = files.chain.read_bytes(), HERE
    if damage == "address":
        reach = Reach((ip_address("127.0.0.1"), ip_address("192.168.1.20")))
    elif damage == "authority":
        authority = authority_in(tmp_path / "other", NOW)
    elif damage == "missing":
        files.key.unlink()
    else:
        (files.chain if damage == "chain" else files.key).write_bytes(b"nothing")
    server_files(tmp_path, authority, reach, NOW)
    assert files.chain.read_bytes() != first
    root = tmp_path / "root.crt"
    root.write_bytes(authority.pem())
    shake_hands(files, root)
