"""Tests of serving from the command line, in a process of its own on 127.0.0.1."""

from __future__ import annotations

import http.client
import re
import signal
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from asking import PASSWORD
from tubside.cli import main
from tubside.cli.serve import _shop, lan_lines
from tubside.web.serving import Serving
from tubside.web.shop import OpenedLan

SERVING = re.compile(r"Serving at (http://127\.0\.0\.1:(\d+)/)")


@contextmanager
def started(*words: str) -> Iterator[subprocess.Popen[str]]:
    """Run ``tubside`` until the block ends, then stop it as Ctrl+C does."""
    command = [sys.executable, "-m", "tubside", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(timeout=20)


def lines_until(process: subprocess.Popen[str], wanted: re.Pattern[str]) -> re.Match[str]:
    """Read what is printed until a line fits."""
    assert process.stdout is not None
    for line in process.stdout:
        if found := wanted.search(line):
            return found
    pytest.fail("it ended without saying so")


def run(*words: str) -> tuple[int, str]:
    """Run ``tubside`` to its end; exit code and output."""
    done = CliRunner().invoke(main, list(words))
    return done.exit_code, done.output


def add_account(folder: Path) -> None:
    """Add an account to the data in a folder."""
    file = folder / "password"
    file.write_text(PASSWORD, encoding="utf-8")
    code, output = run("user", "add", "edith", "--password-file", str(file), "--data", str(folder))
    assert code == 0, output


def test_serving_this_machine(tmp_path: Path) -> None:
    """Tests that the printed address answers, and that Ctrl+C ends it without a complaint."""
    with started("serve", "--port", "0", "--data", str(tmp_path)) as process:
        port = int(lines_until(process, SERVING)[2])
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as client:
            client.request("GET", "/")
            answer = client.getresponse()
            assert answer.status == 200
            assert "default-src 'none'" in str(answer.getheader("content-security-policy"))
    assert process.returncode == 0


def test_serving_a_network(tmp_path: Path) -> None:
    """Tests https with the authority that the plain-http port hands out, and the login."""
    add_account(tmp_path)
    words = ["serve", "--lan", "--address", "127.0.0.1", "--port", "0", "--data", str(tmp_path)]
    with started(*words) as process:
        trust_port = int(lines_until(process, re.compile(r"http://127\.0\.0\.1:(\d+)/"))[1])
        port = int(lines_until(process, re.compile(r"https://127\.0\.0\.1:(\d+)/"))[1])
        lines_until(process, re.compile("Ctrl"))
        with closing(http.client.HTTPConnection("127.0.0.1", trust_port, timeout=10)) as client:
            client.request("GET", "/tubside-ca.crt")
            certificate = client.getresponse().read().decode()
        trust = ssl.create_default_context(cadata=certificate)
        with closing(
            http.client.HTTPSConnection("127.0.0.1", port, timeout=10, context=trust)
        ) as client:
            client.request("GET", "/", headers={"accept": "text/html"})
            answer = client.getresponse()
            answer.read()
            assert (answer.status, answer.getheader("location")) == (303, "/login?next=%2F")
            client.request("GET", "/jobs/7")
            assert client.getresponse().status == 401
    assert process.returncode == 0
    assert {path.name for path in (tmp_path / "tls").iterdir()} == {
        "authority.crt",
        "authority.key",
        "server.crt",
        "server.key",
    }


def test_serving_customers_alone(tmp_path: Path) -> None:
    """Tests that behind a proxy a customer's link is answered under the name, and no page is."""
    words = ["serve", "--public", "quotes.example.org", "--port", "0", "--data", str(tmp_path)]
    with started(*words) as process:
        port = int(lines_until(process, re.compile(r"on to http://127\.0\.0\.1:(\d+)"))[1])
        lines_until(process, re.compile("Ctrl"))
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as client:
            found = []
            for path in ("/quote/abc", "/", "/login"):
                client.request("GET", path, headers={"host": "quotes.example.org"})
                answer = client.getresponse()
                found.append((answer.status, b"nothing here" in answer.read()))
    assert found == [(404, False), (404, True), (404, True)]
    assert process.returncode == 0


@pytest.mark.parametrize("address", ["10.0.0.1", "fd00::2"])
def test_no_network_without_an_account(tmp_path: Path, address: str) -> None:
    """Tests that nothing but 127.0.0.1 is served without a login."""
    code, output = run("serve", "--lan", "--address", address, "--data", str(tmp_path))
    assert code == 2
    assert "tubside user add" in output
    assert not (tmp_path / "tls").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--address", "10.0.0.1"], "--address goes with --lan"),
        (["--lan", "--public", "a.example"], "two servers"),
        (["--key", "key.pem"], "go with --public"),
        (["--public", "a.example", "--certificate", "a.pem"], "go together"),
        (["--public", "203.0.113.7"], "is no name"),
        (["--lan", "--address", "203.0.113.7"], "not a private address"),
        (["--lan", "--address", "0.0.0.0"], "not a private address"),  # noqa: S104
        (["--port", "99999"], "--port"),
    ],
)
def test_mistakes_are_told(tmp_path: Path, words: list[str], told: str) -> None:
    """Tests that an address or port that cannot be served is told."""
    add_account(tmp_path)
    code, output = run("serve", *words, "--data", str(tmp_path))
    assert (code, told in output) == (2, True), output


def test_what_is_printed_for_the_network() -> None:
    """Tests that both addresses have a code before them and the pairs are whole."""
    nothing = Serving(lambda *_: None, ())  # type: ignore[arg-type]
    pairs = ":".join(f"{number:02X}" for number in range(32))
    lan = OpenedLan(
        nothing,
        "https://192.168.1.20:8321/",
        ("https://[fd00::2]:8321/",),
        nothing,
        "http://192.168.1.20:8322/",
        pairs,
    )
    printed = list(lan_lines(lan))
    assert sum("█" in line for line in printed) == 2
    assert pairs.replace(":", "") in "".join(printed).replace(":", "").replace(" ", "")
    assert "    also https://[fd00::2]:8321/" in printed


@pytest.mark.soak
def test_the_demo_shop_is_served() -> None:
    """Tests that the demonstration ends with a shop of twelve jobs at the printed address."""
    with started("demo") as process:
        port = int(lines_until(process, SERVING)[2])
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=20)) as client:
            client.request("GET", "/")
            page = client.getresponse().read().decode()
    assert "Odile Farrant" in page
    assert process.returncode == 0


def test_the_pages_stand_on_the_shops_own_knowledge(tmp_path: Path) -> None:
    """Tests that what is served knows the models and the layers of the data folder."""
    with _shop(str(tmp_path), None) as shop:
        assert shop.library.shop == tmp_path / "models"
        assert shop.library.layers == tmp_path / "layers"
