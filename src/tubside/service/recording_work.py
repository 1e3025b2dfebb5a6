"""Long readings of recordings, one after another, while the pages go on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock, Semaphore, Thread

from tubside.errors import TubsideError

AT_ONCE = 1
"""Readings at the same time: each takes a whole core."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a reading is: the share of the file read, and what went wrong, if anything."""

    share: float = 0.0
    wrong: str = ""

    @property
    def over(self) -> bool:
        """Whether it has ended badly."""
        return bool(self.wrong)


@dataclass(slots=True)
class RecordingWork:
    """Readings by name, begun here and done in threads that end with the program."""

    _known: dict[str, Progress] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)
    _free: Semaphore = field(default_factory=lambda: Semaphore(AT_ONCE))

    def begin(self, name: str, read: Callable[[Callable[[float], None]], None]) -> None:
        """Begin a reading unless one of that name is under way; ``read`` is told of shares to."""
        with self._lock:
            before = self._known.get(name)
            if before is not None and not before.over:
                return
            self._known[name] = Progress()
        Thread(target=self._do, args=(name, read), daemon=True, name="recording").start()

    def progress(self, name: str) -> Progress | None:
        """How far a reading is; None once it has ended well, or was never begun."""
        with self._lock:
            return self._known.get(name)

    def forget(self, name: str) -> None:
        """Leave the mistake of a reading behind."""
        with self._lock:
            before = self._known.get(name)
            if before is not None and before.over:
                del self._known[name]

    def _do(self, name: str, read: Callable[[Callable[[float], None]], None]) -> None:
        with self._free:
            wrong = ""
            try:
                read(lambda share: self._note(name, share))
            except TubsideError as told:
                wrong = str(told)
            except Exception as broken:
                wrong = f"the reading broke off ({type(broken).__name__}); try it once more"
                raise
            finally:
                with self._lock:
                    if wrong:
                        self._known[name] = Progress(wrong=wrong)
                    else:
                        self._known.pop(name, None)

    def _note(self, name: str, share: float) -> None:
        with self._lock:
            before = self._known.get(name)
            if before is not None and share > before.share:
                self._known[name] = Progress(share)
