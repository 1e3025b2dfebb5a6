"""What is now advised on jobs that phones told of: worked out when nobody waits for an answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from threading import Lock
from time import monotonic, sleep

from tubside.errors import TubsideError

LONGEST_S, LOOK_S = 10.0, 0.02
"""How long one job's advice is put off while phones go on sending, and between looks [s]
(by judgement)."""


class AdvisingLater:
    """One job after the other, each once however many messages told of it.

    Parameters
    ----------
    advise
        Works out and keeps what is advised on a job, so that its page is quick.
    busy
        Whether somebody waits for an answer; then advice is put off for a while.
    """

    def __init__(self, advise: Callable[[str], object], busy: Callable[[], bool]) -> None:
        self._advise = advise
        self._busy = busy
        self._waiting: dict[str, None] = {}
        self._listing = Lock()
        self._working = Lock()

    def __call__(self, jobs: Iterable[str]) -> None:
        """Advise on these jobs; who comes while another thread does so leaves them to it."""
        with self._listing:
            self._waiting.update(dict.fromkeys(jobs))
        while self._waiting and self._working.acquire(blocking=False):
            try:
                while (job := self._next()) is not None:
                    self._let_others_first()
                    with suppress(TubsideError):
                        self._advise(job)
            finally:
                self._working.release()

    def _next(self) -> str | None:
        with self._listing:
            first = next(iter(self._waiting), None)
            if first is not None:
                del self._waiting[first]
        return first

    def _let_others_first(self) -> None:
        until = monotonic() + LONGEST_S
        while self._busy() and monotonic() < until:
            sleep(LOOK_S)
