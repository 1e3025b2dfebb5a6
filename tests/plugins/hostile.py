"""Requests that nobody means well with, for any app."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote_plus

from hypothesis import strategies as st

from asking import Asked

METHODS = [
    *["POST"] * 9,
    *["GET"] * 4,
    "HEAD",
    "PUT",
    "DELETE",
    "OPTIONS",
    "PATCH",
    "TRACE",
    "BREW",
    "get",
]
NASTY = [
    "",
    "..",
    "../../etc/passwd",
    "%2e%2e",
    "\x00",
    "\r\nset-cookie: a=b",
    "' OR 1=1 --",
    "<script>alert(1)</script>",
    "{{7*7}}",
    "\u202e\ufeff",
    "\U0001f9fa",
    "9" * 400,
    "-1",
    "nan",
    "1e999",
    "a" * 5000,
    "null",
    "[]",
    "{",
]
texts = st.one_of(st.sampled_from(NASTY), st.text(max_size=40))
header_text = st.text(
    st.characters(min_codepoint=32, max_codepoint=255, exclude_characters="\x7f"), max_size=60
)


def paths(known: Sequence[str]) -> st.SearchStrategy[str]:
    """Return known paths, paths below them, and anything at all."""
    piece = texts.filter(lambda text: "/" not in text)
    below = st.builds(
        lambda path, more: f"{path.rstrip('/')}/{more}", st.sampled_from(known), piece
    )
    chosen = st.sampled_from(known)
    return st.one_of(chosen, chosen, chosen, below, texts.map(lambda text: "/" + text))


def forms(fields: Sequence[str], values: Sequence[str]) -> st.SearchStrategy[tuple[bytes, bytes]]:
    """Return (content type, body): forms, broken forms, and anything at all."""
    said = st.one_of(st.sampled_from([*values, ""]), texts)
    pairs = st.lists(st.tuples(st.one_of(st.sampled_from(fields), texts), said), max_size=8)
    urlencoded = pairs.map(lambda found: (b"application/x-www-form-urlencoded", _urlencoded(found)))
    return st.one_of(
        urlencoded,
        urlencoded,
        pairs.map(lambda found: (b"multipart/form-data; boundary=xx", _multipart(found))),
        st.tuples(
            st.sampled_from(
                [
                    b"multipart/form-data",
                    b"multipart/form-data; boundary=",
                    b"multipart/form-data; boundary=xx",
                    b"application/x-www-form-urlencoded; charset=utf-99",
                    b"application/json",
                    b"\xff\xfe",
                    b"",
                ]
            ),
            st.binary(max_size=300),
        ),
    )


def requests(
    known: Sequence[str],
    fields: Sequence[str],
    headers: Sequence[tuple[bytes, bytes]] = (),
    values: Sequence[str] = (),
) -> st.SearchStrategy[Asked]:
    """Return requests to known and unknown paths.

    ``headers`` go with most of them; ``values`` are what a form may rightly hold.
    """
    return st.builds(
        _asked,
        st.sampled_from(METHODS),
        paths(known),
        st.one_of(st.just(b""), st.just(b""), st.binary(max_size=60), _queries),
        st.one_of(st.just([]), st.lists(st.tuples(_names, header_text), max_size=3)),
        forms(fields, values),
        st.sampled_from([tuple(headers), tuple(headers), tuple(headers), ()]),
    )


def posts(
    known: Sequence[str],
    fields: Sequence[str],
    headers: Sequence[tuple[bytes, bytes]],
    values: Sequence[str],
) -> st.SearchStrategy[Asked]:
    """Return well-formed forms to known paths, whose fields hold what may be right, or nasty."""
    right = st.sampled_from([*values, ""])
    said = st.one_of(right, right, right, right, texts)
    pairs = st.lists(st.tuples(st.sampled_from(fields), said), max_size=8)
    kind = (b"content-type", b"application/x-www-form-urlencoded")
    return st.builds(
        lambda path, found: Asked(
            "POST", path, headers=[*headers, kind], chunks=[_urlencoded(found)]
        ),
        st.sampled_from(known),
        pairs,
    )


_names = st.sampled_from(
    [
        "cookie",
        "accept",
        "origin",
        "sec-fetch-site",
        "user-agent",
        "content-length",
        "transfer-encoding",
        "if-none-match",
        "if-modified-since",
        "range",
        "x-forwarded-for",
        "accept-language",
        "expect",
    ]
)


_queries = texts.map(lambda text: f"next={quote_plus(text, errors='replace')}".encode())


def _asked(  # the parts of a request
    method: str,
    path: str,
    query: bytes,
    extra: Sequence[tuple[str, str]],
    form: tuple[bytes, bytes],
    known: Sequence[tuple[bytes, bytes]],
) -> Asked:
    sent = [(name.encode(), value.encode("latin-1")) for name, value in extra]
    kind, body = form
    pieces = [body[at : at + 64] for at in range(0, len(body), 64)] or [b""]
    return Asked(method, path, query, [*known, *sent, (b"content-type", kind)], pieces)


def _urlencoded(pairs: Sequence[tuple[str, str]]) -> bytes:
    said = (
        f"{quote_plus(k, errors='replace')}={quote_plus(v, errors='replace')}" for k, v in pairs
    )
    return "&".join(said).encode()


def _multipart(pairs: Sequence[tuple[str, str]]) -> bytes:
    parts = [
        f'--xx\r\nContent-Disposition: form-data; name="{name}"'
        f"{'' if number % 2 else '; filename=x'}\r\n\r\n{value}\r\n"
        for number, (name, value) in enumerate(pairs)
    ]
    return "".join([*parts, "--xx--\r\n"]).encode("utf-8", "replace")
