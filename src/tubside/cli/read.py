"""``tubside read``: what a phone's recording of a machine tells."""

from __future__ import annotations

import click

from tubside.cli.lazy import LazyGroup

READERS = {
    "lamps": ("tubside.cli.read_lamps:lamps", "What the lamps do, from a clip."),
    "sound": ("tubside.cli.read_sound:sound", "Notes and pulses, from a sound or a clip."),
    "spin": ("tubside.cli.read_spin:spin", "Spin speed and the pump, from a sound."),
    "shake": ("tubside.cli.read_shake:shake", "Bounce and damping, from a shake log."),
}


@click.group("read", cls=LazyGroup, lazy=READERS)
def read_group() -> None:
    """Tell lamps, sounds or shaking from a phone's recording."""
