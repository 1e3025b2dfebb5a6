"""Time of one indication as still, GIF and MP4, 640 pixels across."""

from __future__ import annotations

from collections.abc import Iterator

from timing import line, median_ms

WANTED: dict[str, str] = {"svg": "<= 5", "png": "<= 300", "gif": "<= 500", "mp4": "<= 3000"}


def report() -> Iterator[str]:
    """Rows for each kind of file of a panel with six lamps, two of them flashing."""
    from tubside.service.knowledge import knowledge_of_model  # noqa: PLC0415 - loads what is timed
    from tubside.service.moving.showing import Asked, Kind, shown  # noqa: PLC0415

    panel = knowledge_of_model("brackwater-wren").panel
    assert panel is not None
    kinds: tuple[Kind, ...] = ("svg", "png", "gif", "mp4")
    for kind in kinds:
        asked = Asked(kind)
        size = len(shown(panel, "two-four-five", asked)) / 1000
        spent = median_ms(lambda asked=asked: shown(panel, "two-four-five", asked), 5)
        yield line(f"an indication as {kind}", spent, "ms", WANTED[kind], f"{size:.0f} kB")
