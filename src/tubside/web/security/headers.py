"""Response headers that hold the browser to our own files and to one frame."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
"""Nothing inline, nothing from elsewhere, no frame around us (W3C Content Security Policy 3)."""

FIXED = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # not "no-referrer": under it browsers send "Origin: null" with our own forms
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=(), payment=(), usb=()",
}
"""Sent with every answer, whatever the page said."""


class SafeHeaders:
    """Middleware: every answer carries :data:`FIXED`, and is kept by no cache unless it says so."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add headers to the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in FIXED.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
            await send(message)

        await self.app(scope, receive, with_headers)
