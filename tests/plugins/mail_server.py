"""A small real mail server on a free port of this machine, for tests: SMTP as RFC 5321 has it."""

from __future__ import annotations

import base64
import socketserver
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from ipaddress import IPv4Address
from pathlib import Path
from threading import Thread

from tubside.web.lan.addresses import Reach
from tubside.web.lan.authority import authority_in, server_files

LOOPBACK = IPv4Address("127.0.0.1")


@dataclass
class Behaviour:
    """How the server is to behave, and what it has taken."""

    safe: ssl.SSLContext | None = None
    tls_first: bool = False
    offers_tls: bool = True
    login: tuple[str, str] | None = None
    refuses: frozenset[str] = frozenset()
    """Commands answered with 550."""
    hangs_up_in: str = ""
    """The command after which it closes the line; "content" after the mail itself."""
    taken: list[tuple[str, str, bytes]] = field(default_factory=list)
    """Sender, recipient and content of each mail."""
    was_safe: list[bool] = field(default_factory=list)


class _Gone(Exception):  # noqa: N818  # no mistake: the server hangs up as it was told to
    """The server hangs up."""


class _Talk(socketserver.StreamRequestHandler):
    """One client."""

    def handle(self) -> None:
        """Talk until one of both ends it."""
        self.how: Behaviour = self.server.how  # type: ignore[attr-defined]  # put there below
        self.safe, self.sender, self.to = self.how.tls_first, "", ""
        self.logged_in = self.how.login is None
        try:
            if self.how.tls_first:
                self._encrypt()
            self._say("220 test.example ready")
            while line := self.rfile.readline():
                self._answer(line.decode().strip())
        except (_Gone, OSError):
            return
        finally:
            self.request.close()

    def _encrypt(self) -> None:
        assert self.how.safe is not None
        self.request = self.how.safe.wrap_socket(self.request, server_side=True)
        self.rfile, self.wfile = self.request.makefile("rb"), self.request.makefile("wb", 0)
        self.safe = True

    def _say(self, *lines: str) -> None:
        self.wfile.write("".join(f"{line}\r\n" for line in lines).encode())

    def _answer(self, line: str) -> None:
        word, _, rest = line.partition(" ")
        word = word.upper()
        if word in self.how.refuses or (word == "MAIL" and not self.logged_in):
            self._say("550 no")
        elif word == "EHLO":
            tls = self.how.safe is not None and self.how.offers_tls and not self.safe
            more = ["STARTTLS"] if tls else []
            more += ["AUTH PLAIN"] if self.how.login else []
            self._say("250-test.example", *(f"250-{one}" for one in more), "250 HELP")
        elif word == "STARTTLS":
            self._say("220 go on")
            self._encrypt()
        elif word == "AUTH":
            self._log_in(rest)
        elif word == "DATA":
            self._take()
        else:
            self.sender = rest if word == "MAIL" else self.sender
            self.to = rest if word == "RCPT" else self.to
            self._say("221 bye" if word == "QUIT" else "250 fine")
        if word in {self.how.hangs_up_in, "QUIT"}:
            raise _Gone

    def _log_in(self, rest: str) -> None:
        _, name, password = base64.b64decode(rest.split()[1]).decode().split("\0")
        self.logged_in = (name, password) == self.how.login
        self._say("235 welcome" if self.logged_in else "535 no")

    def _take(self) -> None:
        self._say("354 go on")
        lines: list[bytes] = []
        while (line := self.rfile.readline()) not in {b".\r\n", b""}:
            lines.append(line.removeprefix(b"."))
        if self.how.hangs_up_in == "content":
            raise _Gone
        self.how.taken.append((self.sender, self.to, b"".join(lines)))
        self.how.was_safe.append(self.safe)
        self._say("250 taken")


class _Server(socketserver.ThreadingTCPServer):
    daemon_threads = True
    allow_reuse_address = True

    def handle_error(self, *_: object) -> None:
        """A client that ends a handshake is part of some tests."""


@contextmanager
def mail_server(how: Behaviour) -> Iterator[int]:
    """Run a server; its port."""
    with _Server(("127.0.0.1", 0), _Talk) as server:
        server.how = how  # type: ignore[attr-defined]
        running = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        running.start()
        try:
            yield int(server.server_address[1])
        finally:
            server.shutdown()
            running.join()


def certificates(folder: Path) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Return what a server on this machine shows, and what a client that trusts it holds."""
    now = datetime.now(UTC)
    authority = authority_in(folder, now)
    files = server_files(folder, authority, Reach((LOOPBACK,), ("localhost",)), now)
    shows = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    shows.load_cert_chain(files.chain, files.key)
    return shows, ssl.create_default_context(cadata=authority.pem().decode())
