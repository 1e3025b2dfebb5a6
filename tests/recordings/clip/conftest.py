"""The small clip, written once for all tests of a run."""

from __future__ import annotations

from pathlib import Path

import pytest

from small_clips import OnDisk, on_disk


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> OnDisk:
    """Return the small clip in H.264 with sound."""
    folder: Path = tmp_path_factory.mktemp("clips")
    return on_disk(folder)
