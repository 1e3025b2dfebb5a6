"""What many threads ask for at the same time, done together in one go."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Generic, TypeVar

from tubside.errors import StoreError

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")


@dataclass(slots=True)
class _Turn(Generic[Asked, Answer]):
    """What one thread asks; ``found`` holds its answer, or what went wrong, once it is done."""

    asked: Asked
    weight: int
    found: Sequence[Answer] | Exception | None = None


class Gathering(Generic[Asked, Answer]):
    """Whoever comes while others are served waits, and is then served with all who waited.

    Nobody who comes alone waits for others to come.

    Parameters
    ----------
    work
        Does what is asked, with one answer for each, in order. Of a shared error of the
        store all are told; after any other each is done by itself, so that nobody suffers for
        another one.
    weigh, most
        How much each one is, and how much is done in one go; one alone may be more.
    """

    def __init__(
        self,
        work: Callable[[Sequence[Asked]], Sequence[Answer]],
        weigh: Callable[[Asked], int],
        most: int,
    ) -> None:
        self._work = work
        self._weigh = weigh
        self._most = most
        self._waiting: list[_Turn[Asked, Answer]] = []
        self._listing = Lock()
        self._working = Lock()

    def __call__(self, asked: Asked) -> Answer:
        """The answer to what is asked, whoever's thread found it."""
        mine: _Turn[Asked, Answer] = _Turn(asked, self._weigh(asked))
        with self._listing:
            self._waiting.append(mine)
        while mine.found is None:
            with self._working:
                if mine.found is None:
                    self._serve(self._next())
        if isinstance(mine.found, Exception):
            raise mine.found
        return mine.found[0]

    def anybody(self) -> bool:
        """Whether somebody is being served or waits."""
        return self._working.locked() or bool(self._waiting)

    def _next(self) -> list[_Turn[Asked, Answer]]:
        """The first of those who wait, as many as go together."""
        with self._listing:
            weight, count = 0, 0
            for turn in self._waiting:
                weight += turn.weight
                if count and weight > self._most:
                    break
                count += 1
            taken, self._waiting = self._waiting[:count], self._waiting[count:]
        return taken

    def _serve(self, turns: Sequence[_Turn[Asked, Answer]]) -> None:
        try:
            found = self._work([turn.asked for turn in turns])
        except Exception as wrong:  # noqa: BLE001  # handed to the threads that asked
            if len(turns) == 1 or isinstance(wrong, StoreError):
                for turn in turns:
                    turn.found = wrong
            else:
                for turn in turns:
                    self._serve([turn])
            return
        for turn, answer in zip(turns, found, strict=True):
            turn.found = [answer]
