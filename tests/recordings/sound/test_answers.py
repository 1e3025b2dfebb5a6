"""The JSON of sound and spin, the commands, and the evidence for indications."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import numpy as np
import pytest
from click.testing import CliRunner

import made_sounds
import made_spins
from tubside.cli.read_sound import sound
from tubside.cli.read_spin import in_words, spin
from tubside.errors import RecordingError
from tubside.pack.reading import read_pack
from tubside.panel.lights import SOUNDS, Sound
from tubside.panel.reading import read_panel
from tubside.recordings.sound import answering, spin_answering
from tubside.recordings.sound.sound_evidence import HEARD, likelihood_of, sound_likelihoods

PACKS = Path(__file__).parents[3] / "packs"


@pytest.fixture(scope="module")
def beeps(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a file with five pulses."""
    t = np.arange(4 * made_sounds.FS, dtype=np.float64) / made_sounds.FS
    on = (t > 0.5) & (t < 3.0) & ((t - 0.5) % 0.5 < 0.2)
    noise = np.random.default_rng(0).normal(0, 0.003, t.size)
    wave = np.asarray(0.3 * on * np.sin(2 * np.pi * 2000 * t) + noise, np.float64)
    return made_sounds.write(tmp_path_factory.mktemp("sound") / "five.m4a", wave)


def test_the_command_counts(beeps: Path) -> None:
    """Tests that the command tells kind, count, groups, period and pitch, as words and JSON."""
    said = CliRunner().invoke(sound, [str(beeps)])
    assert said.exit_code == 0, said.output
    assert "5 pulses (5), one every 0.50 s, at 2000 Hz" in said.output
    told = json.loads(CliRunner().invoke(sound, [str(beeps), "--json"]).output)
    assert told["kind"] == "pulses"
    assert told["notes"] == []
    assert set(told["pulses"]) == {"count", "groups", "period_s", "pitch_hz"}


def test_the_spin_command_tells_speed(tmp_path: Path) -> None:
    """Tests speed, pump and trend in the words of the command."""
    made = made_spins.made_spin(8, 5.0)
    path = made_sounds.write(tmp_path / "spin.ogg", made.wave[: 4 * made_sounds.FS])
    said = CliRunner().invoke(spin, [str(path), "--before", str(path)])
    assert said.exit_code == 0, said.output
    assert f"Spin: {made.rpm.mean():.0f} rpm"[:9] in said.output
    assert "Bearings: about the same" in said.output


def test_no_spin_in_words() -> None:
    """Tests what is said where nothing turns."""
    lines = in_words(msgspec.to_builtins(spin_answering.SpinAnswer(advice=["again"])))
    assert lines == ["No steady spin heard", "  again"]


def test_too_many_files_are_refused(beeps: Path) -> None:
    """Tests that a sound is read from one file and a spin from at most two."""
    with pytest.raises(RecordingError, match="one sound"):
        answering.answer([beeps, beeps], b"{}")
    with pytest.raises(RecordingError, match="earlier one"):
        spin_answering.answer([beeps] * 3, b"{}")


@pytest.mark.parametrize("true", SOUNDS)
def test_each_row_of_evidence_adds_to_one(true: Sound) -> None:
    """Tests that what may be heard, given what the machine sounds, adds to one."""
    assert float(np.sum(list(HEARD[true].values()))) == pytest.approx(1)


def test_pulses_speak_for_indications_with_pulses() -> None:
    """Tests that the likelihood is highest for the sound heard, and even when nothing is known."""
    kinds = ("notes", "pulses", "mixed", "steady", "none")
    sure = {**dict.fromkeys(kinds, 0.01), "pulses": 0.96}
    heard = answering.SoundAnswer(kind="pulses", probability=sure)
    by_sound = {one: likelihood_of(heard, one) for one in SOUNDS}
    assert max(by_sound, key=lambda one: by_sound[one]) == "pulses"
    flat = answering.SoundAnswer(kind="none", probability=dict.fromkeys(kinds, 0.2))
    assert [likelihood_of(flat, one) for one in SOUNDS] == pytest.approx([0.2] * 4)


def test_every_indication_gets_a_likelihood() -> None:
    """Tests that each indication of a panel is told of, by its sound."""
    model = PACKS / "top_load" / "models" / "aldermoor-tern.yaml"
    panel = read_panel(model, read_pack(PACKS / "top_load").pack.conditions)
    kinds = ("notes", "pulses", "mixed", "steady", "none")
    heard = answering.SoundAnswer(
        kind="pulses", probability={**dict.fromkeys(kinds, 0.01), "pulses": 0.96}
    )
    told = sound_likelihoods(heard, panel)
    assert set(told) == set(panel.indications)
    for name, shown in panel.indications.items():
        assert told[name] == likelihood_of(heard, shown.sound)
