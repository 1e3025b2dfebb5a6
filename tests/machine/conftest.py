"""The machines of the two packs, and helpers that put one value in place of another."""

from __future__ import annotations

import pytest

from tubside.pack.fault_model import Machine
from tubside.pack.home import pack_folder
from tubside.pack.loading import LoadedPack, load_pack


@pytest.fixture(scope="session", params=["top_load", "front_load"])
def family(request: pytest.FixtureRequest) -> LoadedPack:
    """Both packs, one after the other."""
    return load_pack(pack_folder(request.param))


@pytest.fixture(scope="session")
def machine(family: LoadedPack) -> Machine:
    """The machine of each family."""
    assert family.model.machine is not None
    return family.model.machine


@pytest.fixture(scope="session")
def top_load() -> Machine:
    """The machine of the top-loaders."""
    found = load_pack(pack_folder("top_load")).model.machine
    assert found is not None
    return found


@pytest.fixture(scope="session")
def front_load() -> Machine:
    """The machine of the front-loaders."""
    found = load_pack(pack_folder("front_load")).model.machine
    assert found is not None
    return found
