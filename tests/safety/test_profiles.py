"""Tests of the country profiles: shipped ones read, wrong ones are told line by line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import ProfileFileError, UnknownNameError
from tubside.physics.electrics.mains import MAINS
from tubside.safety.profiles import countries, load_profile, profiles_folder, read_profile


@pytest.mark.parametrize("country", ["AU", "DE", "GB", "NZ", "US"])
def test_shipped_profiles(country: str) -> None:
    """Tests that each says whose work is whose, and no limit claims to be read."""
    profile = load_profile(country).profile
    assert {"plug-in", "fixed-wiring", "gas", "water", "refrigerant"} == set(profile.works)
    assert profile.mains in MAINS
    assert all(limit.source.known != "read" for limit in profile.limits.values())
    assert {limit.test for limit in profile.limits.values()} >= {"conductor", "protective-current"}


def test_all_are_listed() -> None:
    """Tests that an unknown country is refused with what there is."""
    assert countries() == ["AU", "DE", "GB", "NZ", "US"]
    with pytest.raises(UnknownNameError, match="no profile"):
        load_profile("ZZ")


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        ("    unit: ohm", "    unit: mA", "cannot be in mA"),
        ("    side: at-least", "    side: at-most", "other side"),
        ("mains: NZ", "mains: QQ", "no mains 'QQ'"),
        ("country: NZ", "country: AU", "the file is 'nz.yaml'"),
        ("    classes: [I]", "    classes: []", "no class"),
        ("    known: read", "    known: sure", "cannot be 'sure'"),
        ("    unit: ohm", "    unit: ohm\n    colour: red", "colour"),
    ],
)
def test_wrong_profiles(tmp_path: Path, was: str, now: str, told: str) -> None:
    """Tests that what is wrong is told with the file and the line."""
    text = (profiles_folder() / "nz.yaml").read_text(encoding="utf-8")
    assert was in text
    path = tmp_path / "nz.yaml"
    path.write_text(text.replace(was, now, 1), encoding="utf-8")
    with pytest.raises(ProfileFileError, match=told) as wrong:
        read_profile(path)
    assert all(problem.file == str(path) and problem.line > 0 for problem in wrong.value.problems)
