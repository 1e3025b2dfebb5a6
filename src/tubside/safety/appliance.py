"""What the tests after repair need to know of the appliance and of the work done on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tubside.errors import SafetyError
from tubside.physics.electrics.copper import FLEXIBLE_WIRE
from tubside.safety.profile_schema import ProtectionClass

Touched = Literal[
    "cover-opened", "cord-or-plug", "mains-part", "water-on-electrics", "shock-or-tripping"
]
TOUCHED_WORDS: dict[Touched, str] = {
    "cover-opened": "a cover was opened",
    "cord-or-plug": "cord or plug was touched",
    "mains-part": "a part on the mains was touched",
    "water-on-electrics": "water reached electrics",
    "shock-or-tripping": "a shock or tripping was reported",
}
LONGEST_CORD, STRONGEST_HEATER = 100.0, 50.0


@dataclass(frozen=True, slots=True)
class Appliance:
    """The appliance under test.

    Parameters
    ----------
    protection
        Class I has a protective conductor, class II double insulation.
    heater_kw
        Power of its heater [kW]; 0 for none.
    cord_m, cord_mm2
        Length [m] and section [mm2] of the cord, plug to appliance.
    electronic_switch
        Mains parts stay unreached by an insulation test with the appliance off.
    surge_parts
        It has surge arresters or electronics that the full test voltage would hurt.
    rcd
        It is used behind a residual-current device that is tested too.

    Raises
    ------
    SafetyError
        When it cannot be so.
    """

    protection: ProtectionClass
    heater_kw: float
    cord_m: float
    cord_mm2: float
    electronic_switch: bool = False
    surge_parts: bool = False
    rcd: bool = False

    def __post_init__(self) -> None:
        if not 0.0 <= self.heater_kw <= STRONGEST_HEATER:
            msg = f"a heater of {self.heater_kw:g} kW is not met here; write 0 for none"
            raise SafetyError(msg)
        if not 0.0 < self.cord_m <= LONGEST_CORD:
            msg = f"a cord of {self.cord_m:g} m cannot be tested; write its length in metres"
            raise SafetyError(msg)
        if self.cord_mm2 not in FLEXIBLE_WIRE:
            known = ", ".join(f"{each:g}" for each in FLEXIBLE_WIRE)
            msg = f"no cord has {self.cord_mm2:g} mm2; write one of {known}"
            raise SafetyError(msg)
