"""Pytest plugin: the exact engine of others, against which ours is held."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture(scope="session")
def gum() -> Any:  # pyagrum ships no types
    """Return pyagrum; skip the test where it or its system library is lacking."""
    return pytest.importorskip("pyagrum", exc_type=ImportError)
