"""An address as a QR code that a phone's camera can read off a terminal."""

from __future__ import annotations

from io import StringIO

import segno


def terminal_code(address: str) -> str:
    """Return the QR code of an address (ISO/IEC 18004) in half-block characters."""
    out = StringIO()
    segno.make(address, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()
