"""Panels made at random for property tests: of the right shape, whatever they say."""

from __future__ import annotations

from typing import get_args

from hypothesis import strategies as st

from tubside.panel.lights import SOUNDS
from tubside.panel.schema import (
    Box,
    Button,
    Display,
    Drawing,
    Fit,
    Front,
    Indication,
    Lamp,
    Lettering,
    Panel,
    PanelSource,
    Plate,
    Shape,
    SheetFrom,
    SheetValue,
    Stroke,
)
from tubside.panel.sheet_names import SHEET

words = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)
notes = st.text(st.characters(codec="utf-8"), max_size=30)
marks = st.from_regex(r"[a-z0-9]+(-[a-z0-9]+)?", fullmatch=True).filter(lambda m: len(m) < 12)
places = st.floats(40, 300)
looks = st.sampled_from(["off", "steady", "flashing", "1 blink", "12 blinks"])

SHAPES: list[Shape] = [
    Box(x=0, y=0, width=400, height=200, corner=8, paint="plate"),
    Stroke(points=[(1.5, 2.25), (30, 1 / 3)], paint="hair"),
    Button(x=60, y=20, width=20.125, height=8, label="go: now"),
    Display(x=90, y=10, width=30, height=12),
]


printable = st.text("aB7-/:#ä %'\"{}[],", max_size=12)
froms: st.SearchStrategy[SheetFrom] = st.sampled_from(get_args(SheetFrom))
articles = st.from_regex(r"[A-Z]{2}-[0-9]{1,4}", fullmatch=True)


@st.composite
def sheets(draw: st.DrawFn) -> dict[str, SheetValue]:
    """Values of a sheet that can be and do not contradict each other, each with a source."""
    names = draw(st.lists(st.sampled_from(sorted(SHEET)), max_size=2, unique=True))
    return {
        name: SheetValue(
            value=SHEET[name].example,
            known_from=draw(froms),
            page=draw(printable),
            tolerance=draw(st.sampled_from([None, "5 %"])) if name == "capacitance" else None,
            note=draw(printable),
        )
        for name in names
    }


@st.composite
def fits(draw: st.DrawFn) -> list[Fit]:
    """Articles that fit, none twice and none in a circle."""
    numbers = draw(st.lists(articles, max_size=2, unique=True))
    chained = draw(st.booleans())
    later = [after if chained else None for after in (*numbers[1:], None)][: len(numbers)]
    return [
        Fit(
            part=draw(st.sampled_from(["drain-pump", "inlet-valve"])),
            article=article,
            known_from=draw(froms),
            serial_from=draw(st.sampled_from([None, "A 0100"])),
            serial_to=draw(st.sampled_from([None, "A 0200"])),
            superseded_by=after,
            page=draw(printable),
            note=draw(printable),
        )
        for article, after in zip(numbers, later, strict=True)
    ]


@st.composite
def panels(draw: st.DrawFn) -> Panel:
    """A panel of one to four lamps in a row; its indications need not make sense."""
    lamps = draw(st.lists(marks, min_size=1, max_size=4, unique=True))
    names = draw(st.lists(marks, min_size=1, max_size=5, unique=True))
    source = draw(marks)
    return Panel(
        model=draw(marks),
        name=draw(words),
        family="top_load",
        about=draw(notes),
        plate=Plate(variants={"drive": "belt"}, load_kg=draw(st.none() | st.floats(1, 12))),
        sources={source: PanelSource(kind="hearsay", text=draw(notes))},
        drawing=Drawing(
            front=Front(width=400, height=200),
            shapes=[*SHAPES, Lettering(x=9, y=60, text=draw(words), size=1.5)],
        ),
        lamps={
            lamp: Lamp(label=f"{n}", x=60 + 80 * n, y=draw(st.floats(60, 120)), size=12.5)
            for n, lamp in enumerate(lamps)
            if not lamp.isdigit() or lamp == f"{n}"
        }
        or {"a": Lamp(label="1", x=60, y=60, size=12)},
        sounds={"pulses": draw(notes)},
        indications={
            name: Indication(
                conditions=draw(st.lists(marks, max_size=3)),
                lamps=draw(st.dictionaries(st.sampled_from(lamps), looks)),
                sound=draw(st.sampled_from(SOUNDS)),
                note=draw(notes),
                source=source,
                period_s=draw(st.none() | st.floats(0.01, 60)),
                gap_s=draw(st.none() | st.floats(0.01, 60)),
                display=draw(st.none() | words),
                sure=draw(st.sampled_from(["sure", "likely", "unsure"])),
            )
            for name in names
        },
        sheet=draw(sheets()),
        fits=draw(fits()),
    )
