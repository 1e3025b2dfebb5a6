"""An empty shop for the tests of its pages by forms."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from empty_shop import Browser, opened


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Browser]:
    """A browser without scripts at an empty shop."""
    yield from opened(tmp_path)
