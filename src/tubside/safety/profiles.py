"""The country profiles that come with the program: found, read, and held to their rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

from tubside.errors import Problem, ProfileFileError, UnknownNameError
from tubside.physics.electrics.mains import MAINS
from tubside.safety.profile_schema import Limit, Profile, limit_digest_form
from tubside.strict_yaml import Document, convert, or_one_of, read_text
from tubside.strict_yaml.reading import decoded

PACKAGE = Path(__file__).resolve().parent.parent
UNITS = {
    "conductor": "ohm",
    "insulation": "Mohm",
    "protective-current": "mA",
    "touch-current": "mA",
}


@dataclass(frozen=True, slots=True)
class LoadedProfile:
    """A profile and the content hash [hex] of the file it was read from."""

    profile: Profile
    digest: str


def profiles_folder() -> Path:
    """Return the folder of shipped profiles: inside the wheel, or beside ``src``."""
    installed = PACKAGE / "_profiles"
    return installed if installed.is_dir() else PACKAGE.parent.parent / "profiles"


def countries(folder: Path | None = None) -> list[str]:
    """Return the countries (ISO 3166) for which there is a profile, sorted."""
    return sorted(path.stem.upper() for path in (folder or profiles_folder()).glob("*.yaml"))


@cache
def load_profile(country: str, folder: Path | None = None) -> LoadedProfile:
    """Read a country's profile.

    Raises
    ------
    UnknownNameError
        When there is none for the country.
    ProfileFileError
        With every problem of the file, each at its line.
    """
    known = countries(folder)
    if country not in known:
        msg = f"there is no profile of the country '{country[:40]}'; {or_one_of(country, known)}"
        raise UnknownNameError(msg)
    path = (folder or profiles_folder()) / f"{country.lower()}.yaml"
    return read_profile(path)


def read_profile(path: Path) -> LoadedProfile:
    """Read one profile file; ProfileFileError with every problem of it."""
    try:
        data = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror})"
        raise ProfileFileError([Problem(str(path), 1, what, "check its permissions")]) from wrong
    text = decoded(data, str(path), ProfileFileError)
    document = read_text(text, str(path), ProfileFileError)
    profile = convert(document, Profile, ProfileFileError)
    if problems := sorted(_problems(profile, document, path)):
        raise ProfileFileError(problems)
    return LoadedProfile(profile, sha256(data).hexdigest())


def limit_digest(limit: Limit) -> str:
    """The content hash [hex] of one limit: a confirmation holds for what was confirmed only."""
    return sha256(limit_digest_form(limit)).hexdigest()


def _problems(profile: Profile, document: Document, path: Path) -> Iterator[Problem]:
    if profile.country.lower() != path.stem:
        what = f"the country is '{profile.country}', the file is '{path.name}'"
        yield document.problem(("country",), what, "name the file after the country")
    if profile.mains not in MAINS:
        what = f"there is no mains '{profile.mains}'"
        yield document.problem(("mains",), what, or_one_of(profile.mains, list(MAINS)))
    for name, limit in profile.limits.items():
        yield from _limit_problems(limit, document, name)


def _limit_problems(limit: Limit, document: Document, name: str) -> Iterator[Problem]:
    if limit.unit != UNITS[limit.test]:
        what = f"a limit of the test '{limit.test}' cannot be in {limit.unit}"
        yield document.problem(("limits", name, "unit"), what, f"write it in {UNITS[limit.test]}")
    forms = [limit.cord_added, limit.steps is not None, limit.per_kilowatt is not None]
    if sum(forms) > 1:
        what = "a limit has one form: cord_added, steps or per_kilowatt"
        yield document.problem(("limits", name), what, "keep one of them")
    if (limit.side == "at-least") != (limit.test == "insulation"):
        what = f"the test '{limit.test}' has its limit on the other side"
        yield document.problem(("limits", name, "side"), what, "insulation at-least, else at-most")
    if not limit.classes:
        what = "no class has this limit"
        yield document.problem(("limits", name, "classes"), what, "name I, II or both")
