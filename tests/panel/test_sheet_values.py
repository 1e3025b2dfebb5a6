"""Values of the sheet: read, refused, kept with their unit and told with their source."""

from __future__ import annotations

import pytest

from tubside.errors import QuantityError
from tubside.panel.schema import SheetValue
from tubside.panel.sheet_names import SHEET, known_subjects
from tubside.panel.sheet_values import kept_text, source_words, stated, tolerance_of, value_words


@pytest.mark.parametrize("name", SHEET)
def test_every_example_is_one(name: str) -> None:
    """Tests that the example of each name can be kept, and stays what it says."""
    of = SHEET[name]
    kept = kept_text(name, of.example)
    assert stated(name, kept) == pytest.approx(stated(name, of.example), rel=1e-12)
    assert of.low <= stated(name, kept) <= of.high
    if of.unit != "class":
        bare = kept_text(name, of.example.partition(" ")[0])
        assert stated(name, bare) == pytest.approx(stated(name, kept), rel=1e-12)


def test_every_name_has_a_subject() -> None:
    """Tests that the list by subject leaves nothing out."""
    assert [name for names in known_subjects().values() for name in names] == list(SHEET)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("valve_coil_resistance", "3.8 V", "is a voltage"),
        ("valve_coil_resistance", "3.8", "without its unit"),
        ("valve_coil_resistance", "380 kΩ", "look at the unit, as in 3.8 kΩ"),
        ("valve_coil_resistance", "-1 Ω", "cannot be"),
        ("heater_resistance", "OL", "is no number"),
        ("rated_voltage", "100-240 V", "no range of one plate"),
        ("protection_class", "III", "write I or II"),
        ("spin_speed", "nan rpm", "not understood"),
        ("fill_timeout", "3 h", "lies from 0.0167 to 120 min"),
        ("basket_radius", "2.4 m", "lies from 10 to 40 cm"),
    ],
)
def test_refused(name: str, text: str, words: str) -> None:
    """Tests wrong units, what cannot be, and that the message says how to mend it."""
    with pytest.raises(QuantityError) as wrong:
        stated(name, text)
    assert words in str(wrong.value)


@pytest.mark.parametrize(
    ("name", "written", "kept"),
    [
        ("valve_coil_resistance", "3k8", "3.8 kΩ"),
        ("valve_coil_resistance", "3,8 kohm", "3.8 kΩ"),
        ("fill_timeout", "7:30", "450 s"),
        ("spin_speed", "1400", "1400 rpm"),
        ("rated_voltage", "220-240 V", "220-240 V"),
        ("protection_class", "class 2", "II"),
        ("capacitance", "16 uF", "16 µF"),
    ],
)
def test_kept_as_people_read_it(name: str, written: str, kept: str) -> None:
    """Tests that what is kept has its unit, and is kept again as it is."""
    assert kept_text(name, written) == kept
    assert kept_text(name, kept) == kept


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("heater_resistance", "0 %", "cannot be"),
        ("heater_resistance", "60 %", "at most 50 %"),
        ("heater_resistance", "1 V", "is a voltage"),
        ("fill_timeout", "5 %", "leave it out"),
        ("rated_power", "5 %", "leave it out"),
    ],
)
def test_tolerances_refused(name: str, text: str, words: str) -> None:
    """Tests a tolerance that cannot be, or has no place."""
    with pytest.raises(QuantityError, match=words):
        tolerance_of(name, text)


def test_tolerances() -> None:
    """Tests a share, a plain one and none."""
    share = tolerance_of("heater_resistance", "+/- 5%")
    plain = tolerance_of("heater_resistance", "± 1.3 Ω")
    assert share is not None
    assert plain is not None
    assert (share.share, share.plain, plain.share, plain.plain) == (0.05, 0.0, 0.0, 1.3)
    assert tolerance_of("heater_resistance", None) is None


def test_the_source_is_told() -> None:
    """Tests each kind of source, with and without a page."""
    value = SheetValue(value="26 Ω", known_from="seen", page="Mill Lane, May", tolerance="± 5 %")
    assert source_words(value) == "from your own observation, Mill Lane, May"
    assert value_words(value) == "26 Ω ± 5 %"
    assert source_words(SheetValue(value="26 Ω", known_from="plate")) == "from the type plate"
    assert source_words(SheetValue(value="26 Ω", known_from="hearsay")) == "from hearsay"
