"""A minute of 4K and of 1080p through the sealed process: right, in time, in little memory."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from long_clips import minute_of

MOST_S_PER_S = {1920: 1.0, 3840: 2.0}
"""1080p in no more time than it lasts; of 4K only the memory is promised, and an end."""
MOST_MIB = 500
LENGTH_S = 60.0
ASK = """
import json, resource, sys
from pathlib import Path
from tubside.recordings.apart import read_sealed
read = read_sealed("lamps", [Path(sys.argv[1])], {"taps": [json.loads(sys.argv[2])]})
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps({"lamps": read.answer["lamps"], "sealed": read.sealed,
    "seconds": used.ru_utime + used.ru_stime, "mib": used.ru_maxrss / 1024}))
"""


@pytest.mark.soak
@pytest.mark.skipif(sys.platform != "linux", reason="memory of a child is told in KiB on Linux")
@pytest.mark.parametrize("wide", sorted(MOST_S_PER_S))
def test_a_minute_is_read_sealed(tmp_path: Path, wide: int) -> None:
    """Tests answers, processor time and peak memory of the process that reads a minute."""
    clip = minute_of(tmp_path, wide)
    order = [sys.executable, "-c", ASK, str(clip.path), json.dumps(clip.taps)]
    told = json.loads(subprocess.run(order, check=True, capture_output=True).stdout)
    sys.stdout.write(f"{wide} wide: {told['seconds']:.0f} s, {told['mib']:.0f} MiB\n")
    assert {"memory", "processor time"} <= set(told["sealed"])
    states = [lamp["state"] for lamp in told["lamps"].values()]
    assert all(state in {true, "unknown"} for state, true in zip(states, clip.states, strict=True))
    assert states[1:] == list(clip.states[1:])
    assert told["mib"] < MOST_MIB
    assert told["seconds"] < MOST_S_PER_S[wide] * LENGTH_S
