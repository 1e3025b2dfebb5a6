"""Tests of what is told over plain http: the certificate and the steps, nothing else."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from cryptography import x509

from asking import Asked, ask
from tubside.web.lan.authority import authority_in
from tubside.web.lan.code_picture import terminal_code
from tubside.web.lan.trust_page import trust_app
from tubside.web.security.hosts import KnownHosts

NOW = datetime(2026, 11, 25, tzinfo=UTC)
HOST = b"192.168.1.20:8322"


@pytest.fixture
def app(tmp_path: Path) -> KnownHosts:
    """Return the app of the plain-http port."""
    return trust_app(authority_in(tmp_path, NOW), "https://192.168.1.20:8321/", ("192.168.1.20",))


def test_the_certificate_is_served(app: KnownHosts, tmp_path: Path) -> None:
    """Tests that the download is the authority's certificate, typed so that phones take it."""
    answer = ask(app, Asked(path="/tubside-ca.crt", host=HOST))
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert b"PRIVATE" not in answer.body
    own = authority_in(tmp_path, NOW).certificate
    assert x509.load_pem_x509_certificate(answer.body) == own


def test_the_steps_are_told(app: KnownHosts, tmp_path: Path) -> None:
    """Tests that the page links the download and the app, and shows what to compare."""
    page = ask(app, Asked(host=HOST)).body.decode()
    assert 'href="/tubside-ca.crt"' in page
    assert 'href="https://192.168.1.20:8321/"' in page
    assert authority_in(tmp_path, NOW).fingerprint() in page
    assert "<style" not in page
    assert "<script" not in page


@pytest.mark.parametrize(
    "path", ["/authority.key", "/../authority.key", "/jobs", "/login", "//", "/tubside-ca.crt/"]
)
def test_there_is_nothing_else(app: KnownHosts, path: str) -> None:
    """Tests that no other path has a page."""
    assert ask(app, Asked(path=path, host=HOST)).status in {307, 404}


def test_nothing_can_be_sent(app: KnownHosts) -> None:
    """Tests that posts and bodies are refused, and other names too."""
    assert ask(app, Asked("POST", "/", host=HOST)).status == 405
    assert ask(app, Asked("GET", "/", host=HOST, headers=[(b"content-length", b"1")])).status == 413
    assert ask(app, Asked("GET", "/", host=b"elsewhere.example")).status == 421


def test_a_code_for_the_camera() -> None:
    """Tests that the code has one square a module: version 2 and its quiet zone are 33 wide."""
    lines = terminal_code("https://192.168.1.20:8321/").splitlines()
    assert {len(line) for line in lines} == {33}
    assert set("".join(lines)) <= set(" █▀▄")
