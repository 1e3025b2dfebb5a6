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


KEPT = [
    ("NZ", "conductor", 1.0, "second-hand"),
    ("NZ", "insulation", 1.0, "second-hand"),
    ("NZ", "leakage-class-1", 5.0, "second-hand"),
    ("NZ", "leakage-class-2", 1.0, "second-hand"),
    ("AU", "conductor", 1.0, "second-hand"),
    ("AU", "leakage-class-1", 5.0, "second-hand"),
    ("GB", "insulation-class-1", 1.0, "second-hand"),
    ("GB", "insulation-class-2", 2.0, "second-hand"),
    ("GB", "leakage-class-1", 5.0, "second-hand"),
    ("GB", "leakage-class-1-4th", 3.5, "second-hand"),
    ("GB", "touch-class-2-4th", 0.25, "second-hand"),
    ("DE", "conductor", 0.3, "second-hand"),
    ("DE", "insulation-heater", 0.3, "second-hand"),
    ("DE", "insulation-class-1", 1.0, "second-hand"),
    ("DE", "insulation-class-2", 2.0, "second-hand"),
    ("DE", "protective-current", 3.5, "second-hand"),
    ("DE", "touch-current", 0.5, "second-hand"),
]
"""Country, limit, value in its unit, and how well it is known: as it was gathered from accounts of
the standards, each named with edition and clause in its file."""
BESIDE = {
    "NZ": {"sheathed-heater", "leakage-instead"},
    "AU": {"sheathed-heater", "rcd-type-1"},
    "GB": {"class-3", "carried-4th", "heated-4th"},
    "DE": {"class-3", "separated", "heater-above"},
    "US": {"carried"},
}


@pytest.mark.parametrize(("country", "name", "value", "known"), KEPT)
def test_every_gathered_limit_is_there(country: str, name: str, value: float, known: str) -> None:
    """Tests value, source and how well it is known of each limit that was gathered."""
    limit = load_profile(country).profile.limits[name]
    assert (limit.value, limit.source.known) == (value, known)
    assert limit.source.standard


def test_figures_beside_decide_nothing() -> None:
    """Tests that what holds for others is told with its source, and is no limit."""
    for country, own in BESIDE.items():
        profile = load_profile(country).profile
        makers = {name for name in profile.beside if name.startswith("maker-")}
        assert (set(profile.beside) - makers, len(makers)) == (own, 6)
        assert not set(profile.beside) & set(profile.limits)
        assert all(one.source.standard and one.says for one in profile.beside.values())
