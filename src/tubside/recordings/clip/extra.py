"""Whether the packages that open recordings are installed."""

from __future__ import annotations

from importlib.util import find_spec

from tubside.errors import RecordingError

NEEDED = ("av", "cv2")


def require_recordings() -> None:
    """Refuse to go on without the extra ``recordings``.

    Raises
    ------
    RecordingError
        Saying what to install.
    """
    if any(find_spec(name) is None for name in NEEDED):
        msg = "clips need more packages; install them with: pip install 'tubside[recordings]'"
        raise RecordingError(msg)
