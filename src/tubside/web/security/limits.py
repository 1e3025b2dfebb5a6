"""How much may be sent: bodies, addresses and time, before anything is read into memory."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

BAD_PATH = re.compile(r"[\x00-\x1f\x7f\ud800-\udfff]")
WHY = {
    400: "This address holds characters that no address has.",
    408: "Nothing came for too long; send it again.",
    413: "That is more than is taken here; send something smaller.",
    414: "This address is too long.",
}


@dataclass(frozen=True, slots=True)
class BodyLimits:
    """The largest bodies in bytes and the longest wait in seconds (common practice, no source).

    ``wider`` maps the pattern of a whole path to its own limit, for uploads.
    """

    form: int = 256 * 1024
    wider: Mapping[re.Pattern[str], int] = field(default_factory=dict)
    address: int = 2048
    seconds: float = 30.0

    def of(self, path: str) -> int:
        """Return the most bytes that a request to ``path`` may carry."""
        fitting = [size for pattern, size in self.wider.items() if pattern.fullmatch(path)]
        return max(fitting, default=self.form)


class Limited:
    """Middleware: answer 400, 408, 413 or 414 to what is malformed, too slow or too large."""

    def __init__(self, app: ASGIApp, limits: BodyLimits) -> None:
        self.app = app
        self.limits = limits

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with its body counted as it comes."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        status = self._refusal(scope)
        if status:
            await PlainTextResponse(f"{WHY[status]}\n", status)(scope, receive, send)
            return
        await self._counted(scope, receive, send)

    def _refusal(self, scope: Scope) -> int:
        if BAD_PATH.search(scope["path"]) or not scope.get("query_string", b"").isascii():
            return 400
        if len(scope["path"]) + len(scope.get("query_string", b"")) > self.limits.address:
            return 414
        declared = Headers(scope=scope).get("content-length", "0")
        if not (declared.isascii() and declared.isdigit()):
            return 400
        too_many = len(declared) > 18 or int(declared) > self.limits.of(scope["path"])
        return 413 if too_many else 0

    async def _counted(self, scope: Scope, receive: Receive, send: Send) -> None:
        count = _Count(receive, self.limits.of(scope["path"]), self.limits.seconds)
        started = False

        async def noted(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self.app(scope, count.receive, noted)
        except HTTPException as error:
            # an app that lets our own refusal through has sent nothing yet
            if started:
                raise
            refused = PlainTextResponse(f"{error.detail}\n", error.status_code)
            await refused(scope, receive, send)


class _Count:
    """Receives a body and stops it at a size and a wait."""

    def __init__(self, receive: Receive, most: int, seconds: float) -> None:
        self.inner = receive
        self.left = most
        self.seconds = seconds
        self.whole = False

    async def receive(self) -> Message:
        if self.whole:
            return await self.inner()
        try:
            async with asyncio.timeout(self.seconds):
                message = await self.inner()
        except TimeoutError:
            raise HTTPException(408, WHY[408]) from None
        if message["type"] == "http.request":
            self.left -= len(message.get("body", b""))
            self.whole = not message.get("more_body", False)
            if self.left < 0:
                raise HTTPException(413, WHY[413])
        return message
