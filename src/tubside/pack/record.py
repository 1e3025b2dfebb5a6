"""What every record of a pack has: unknown keys are refused, numbers name their source."""

from __future__ import annotations

import msgspec

Source = str | dict[str, str]
"""One mark of ``sources`` for the whole record, or field -> mark with ``rest``."""


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of the records that stand beside those of :mod:`tubside.pack.schema`."""
