"""A certificate authority of this shop's own, for its local network and nothing else."""

from __future__ import annotations

import contextlib
import os
import stat
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from tubside.errors import ServingError
from tubside.web.lan.addresses import LOCAL_SUFFIXES, PRIVATE, Reach

CA_LIFE = timedelta(days=3650)
SERVER_LIFE = timedelta(days=90)
"""Phones refuse server certificates of more than 825 days (from memory)."""
RENEW_BEFORE = timedelta(days=30)
BACKDATED = timedelta(days=1)
"""A phone's clock may be behind ours."""


@dataclass(frozen=True, slots=True)
class Authority:
    """The certificate that phones are asked to trust, and the key behind it."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def pem(self) -> bytes:
        """Return the certificate as a phone downloads it; holds no secret."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    def fingerprint(self) -> str:
        """Return the SHA-256 of the certificate, in pairs, as phones show it."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(":").upper()


@dataclass(frozen=True, slots=True)
class ServerFiles:
    """Where the server's certificate chain and its key are kept."""

    chain: Path
    key: Path


def authority_in(folder: Path, now: datetime) -> Authority:
    """Return the authority kept in ``folder``, made on the first call.

    Raises
    ------
    ServingError
        When its key can be read by others, is damaged, or its certificate ends soon.
    """
    key_file, certificate_file = folder / "authority.key", folder / "authority.crt"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not key_file.exists():
        authority = _new_authority(now)
        _keep(certificate_file, authority.pem(), 0o644)
        _keep(key_file, _key_pem(authority.key), 0o600)
    _refuse_open_key(key_file)
    authority = _read(key_file, certificate_file)
    if authority.certificate.not_valid_after_utc < now + SERVER_LIFE:
        msg = f"the certificate authority ends soon; remove {folder} and let every phone trust anew"
        raise ServingError(msg)
    return authority


def server_files(folder: Path, authority: Authority, reach: Reach, now: datetime) -> ServerFiles:
    """Return a certificate for these addresses with at least 30 days to go, renewed if need be."""
    files = ServerFiles(folder / "server.crt", folder / "server.key")
    if not _still_good(files, authority, reach, now):
        key = ec.generate_private_key(ec.SECP256R1())
        certificate = _server_certificate(authority, key, reach, now)
        _keep(files.key, _key_pem(key), 0o600)
        _keep(
            files.chain,
            certificate.public_bytes(serialization.Encoding.PEM) + authority.pem(),
            0o644,
        )
    return files


def _new_authority(now: datetime) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tubside of this shop")])
    certificate = (
        _builder(name, name, key, (now, CA_LIFE))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(
            x509.NameConstraints(
                [*map(x509.DNSName, LOCAL_SUFFIXES), *map(x509.IPAddress, PRIVATE)], None
            ),
            critical=True,
        )
        .sign(key, hashes.SHA256())
    )
    return Authority(certificate, key)


def _server_certificate(
    authority: Authority, key: ec.EllipticCurvePrivateKey, reach: Reach, now: datetime
) -> x509.Certificate:
    issuer = authority.certificate.subject
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tubside")])
    names = x509.SubjectAlternativeName(_alternative_names(reach))
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    return (
        _builder(subject, issuer, key, (now, SERVER_LIFE))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(names, critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    life: tuple[datetime, timedelta],
) -> x509.CertificateBuilder:
    start, length = life
    own_key = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start - BACKDATED)
        .not_valid_after(start + length)
        .add_extension(own_key, critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _alternative_names(reach: Reach) -> list[x509.GeneralName]:
    return [*map(x509.IPAddress, reach.addresses), *map(x509.DNSName, reach.names)]


def _still_good(files: ServerFiles, authority: Authority, reach: Reach, now: datetime) -> bool:
    if not (files.chain.exists() and files.key.exists()):
        return False
    try:
        certificate = x509.load_pem_x509_certificate(files.chain.read_bytes())
        certificate.verify_directly_issued_by(authority.certificate)
        names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        key = serialization.load_pem_private_key(files.key.read_bytes(), None)
    except Exception:  # noqa: BLE001  # whatever is wrong with an old one, a new one mends it
        return False
    return (
        set(names) == set(_alternative_names(reach))
        and key.public_key() == certificate.public_key()
        and certificate.not_valid_before_utc <= now
        and certificate.not_valid_after_utc >= now + RENEW_BEFORE
    )


def _read(key_file: Path, certificate_file: Path) -> Authority:
    with contextlib.suppress(ValueError, TypeError, OSError):
        key = serialization.load_pem_private_key(key_file.read_bytes(), None)
        certificate = x509.load_pem_x509_certificate(certificate_file.read_bytes())
        if isinstance(key, ec.EllipticCurvePrivateKey) and (
            key.public_key() == certificate.public_key()
        ):
            return Authority(certificate, key)
    msg = (
        f"the certificate authority in {key_file.parent} is damaged; restore the folder, or "
        "remove it and let every phone trust anew"
    )
    raise ServingError(msg)


def _refuse_open_key(path: Path) -> None:
    mode = stat.S_IMODE(path.stat().st_mode)
    if mode & 0o077:
        msg = (
            f"{path} can be read by others (mode {mode:o}); run chmod 600 on it, and if somebody "
            "may have read it, remove its folder and let every phone trust anew"
        )
        raise ServingError(msg)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _keep(path: Path, content: bytes, mode: int) -> None:
    """Write a file whole or not at all, never readable by more than ``mode`` says."""
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
