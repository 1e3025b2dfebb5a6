"""What a browser says it runs on, in a word that its owner knows."""

from __future__ import annotations

KINDS = (
    ("iphone", "an iPhone"),
    ("ipad", "an iPad"),
    ("android", "an Android device"),
    ("windows", "a Windows computer"),
    ("macintosh", "a Mac"),
    ("cros", "a Chromebook"),
    ("linux", "a Linux computer"),
)
"""Parts of ``User-Agent`` and what they mean, the narrower first (from memory)."""


def device_words(agent: str) -> str:
    """Return the kind of device; anybody can claim any, so nothing rests on it.

    >>> device_words("Mozilla/5.0 (Linux; Android 16; K) AppleWebKit/537.36")
    'an Android device'
    """
    said = agent.lower()
    return next((kind for part, kind in KINDS if part in said), "an unknown device")
