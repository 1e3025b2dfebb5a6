"""Whether the packages behind the pages are installed."""

from __future__ import annotations

from importlib.util import find_spec

from tubside.errors import ServingError

NEEDED = (
    "starlette",
    "uvicorn",
    "jinja2",
    "sqlalchemy",
    "alembic",
    "argon2",
    "cryptography",
    "segno",
    "PIL",
)


def app_is_there() -> bool:
    """Return whether every package of the extra ``app`` is there."""
    return all(find_spec(name) is not None for name in NEEDED)


def require_app() -> None:
    """Refuse to go on without them.

    Raises
    ------
    ServingError
        Saying what to install.
    """
    if not app_is_there():
        msg = "the pages need more packages; install them with: pip install 'tubside[app]'"
        raise ServingError(msg)
