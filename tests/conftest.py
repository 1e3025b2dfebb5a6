"""A tiny complete pack for every test that needs one, and edits of it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import FaultModel
from tubside.pack.loading import LoadedPack, load_pack
from tubside.pack.reading import PackSource, read_pack

EditPack = Callable[..., PackSource]
EXAMPLES = 50
"""Of each property that names no number of its own: the whole stays within its minutes."""
settings.register_profile("tubside", deadline=None, max_examples=EXAMPLES)
settings.load_profile("tubside")  # no test is timed: a busy machine is no fault of the code
LATER = pytest.param("dryer", marks=pytest.mark.soak)
"""A third shipped family runs through the same code; the long tests take it along."""


@pytest.fixture(autouse=True)
def _nothing_waits_for_a_compile(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Search in plain loops: a first compile takes most of a minute, so only long tests have it."""
    if request.node.get_closest_marker("soak") is None:
        monkeypatch.setattr("tubside.diagnosis.solve.jit.installed", lambda: False)


@pytest.fixture(scope="session")
def small_pack_folder() -> Path:
    """Return the folder of the small pack."""
    return Path(__file__).parent / "pack" / "small_pack"


@pytest.fixture(scope="session")
def small_pack(small_pack_folder: Path) -> PackSource:
    """Return the small pack as read."""
    return read_pack(small_pack_folder)


@pytest.fixture
def small_pack_copy(small_pack_folder: Path, tmp_path: Path) -> Path:
    """Return a copy of the small pack's folder that a test may change."""
    return Path(shutil.copytree(small_pack_folder, tmp_path / "small_pack"))


@pytest.fixture
def edit_pack(small_pack_copy: Path) -> EditPack:
    """Return a function (file, old, new, ...) -> the pack read after these replacements.

    Every old text must stand in its file exactly once.
    """

    def edit(*edits: str) -> PackSource:
        for file, old, new in zip(edits[::3], edits[1::3], edits[2::3], strict=True):
            path = small_pack_copy / f"{file}.yaml"
            text = path.read_text(encoding="utf-8")
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
            path.write_text(text.replace(old, new), encoding="utf-8")
        return read_pack(small_pack_copy)

    return edit


@pytest.fixture(scope="session")
def small_model(small_pack: PackSource) -> FaultModel:
    """Return the small pack compiled."""
    return compile_pack(small_pack.pack, "small")


@pytest.fixture(scope="session", params=["top_load", "front_load", LATER])
def shipped(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> LoadedPack:
    """Return each shipped pack, compiled."""
    folder = Path(__file__).parents[1] / "packs" / str(request.param)
    return load_pack(folder, tmp_path_factory.mktemp("kept"))


@pytest.fixture(scope="session", params=["small_pack", "top_load", "front_load", LATER])
def any_pack(
    request: pytest.FixtureRequest,
    small_pack_folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> LoadedPack:
    """Return the small pack and each shipped pack, compiled."""
    shipped = Path(__file__).parents[1] / "packs" / str(request.param)
    folder = small_pack_folder if request.param == "small_pack" else shipped
    return load_pack(folder, tmp_path_factory.mktemp("kept"))
