"""Long readings go on beside the pages, one at a time, and tell how far they are."""

from __future__ import annotations

import time
from collections.abc import Callable
from threading import Event

from tubside.errors import RecordingError
from tubside.service.recording_work import Progress, RecordingWork

Told = Callable[[float], None]


def wait_until(done: Callable[[], bool]) -> None:
    """Wait for something that another thread does."""
    until = time.monotonic() + 10.0
    while not done():
        assert time.monotonic() < until
        time.sleep(0.005)


def test_progress_is_told_and_ends() -> None:
    """Tests that the share read is told, never falls, and is gone when it ended well."""
    work, go, begun = RecordingWork(), Event(), Event()

    def read(told: Told) -> None:
        told(0.5)
        told(0.2)
        begun.set()
        go.wait(10.0)

    work.begin("clip", read)
    assert begun.wait(10.0)
    assert work.progress("clip") == Progress(0.5)
    go.set()
    wait_until(lambda: work.progress("clip") is None)


def test_a_mistake_is_kept_until_it_is_left_behind() -> None:
    """Tests that what went wrong is told in words, and that it can be tried again."""
    work = RecordingWork()

    def read(_told: Told) -> None:
        msg = "the clip is damaged; send it again"
        raise RecordingError(msg)

    work.begin("clip", read)
    wait_until(lambda: (found := work.progress("clip")) is not None and found.over)
    assert work.progress("clip") == Progress(wrong="the clip is damaged; send it again")
    work.forget("clip")
    assert work.progress("clip") is None


def test_the_same_reading_is_begun_once_and_others_wait() -> None:
    """Tests that a second tap begins nothing, and that another clip waits for its turn."""
    work, go, began = RecordingWork(), Event(), []

    def read(name: str) -> Callable[[Told], None]:
        def one(_told: Told) -> None:
            began.append(name)
            go.wait(10.0)

        return one

    work.begin("one", read("one"))
    work.begin("one", read("one again"))
    wait_until(lambda: began == ["one"])
    work.begin("two", read("two"))
    time.sleep(0.05)
    assert began == ["one"]
    assert work.progress("two") == Progress()
    go.set()
    wait_until(lambda: work.progress("two") is None)
    assert began == ["one", "two"]
